package kernel

import "math"

func withinGeneric(x []float64, limit float64) int {
	for i, v := range x {
		if !(v <= limit && v >= -limit) {
			return i
		}
	}
	return len(x)
}

//choose:asm &in[0], &out[0], n, ceiling, squarable, s
//choose:whole 8 in
//choose:rest in[n:], out[n:], ceiling, s
//choose:join touched + moreTouched, max(cut, moreCut)
func takenGeneric(in, out []float64, ceiling float64, s *[8]float64) (touched int, cut float64) {
	cut = 1
	for i, x := range in {
		y := out[i]
		if x == y || x != x || y != y {
			continue
		}
		touched++
		size := math.Abs(x)
		if size > squarable {
			continue
		}
		d := x - y
		s[i%8] += float64(d * d)
		if size > ceiling {
			cut = max(cut, size/math.Abs(y))
		}
	}
	return touched, cut
}

//choose:asm &x[0], n, ceiling, squarable, s
//choose:whole 8 x
//choose:rest x[n:], ceiling, s
//choose:join touched + moreTouched, max(top, moreTop)
func clampGeneric(x []float64, ceiling float64, s *[8]float64) (touched int, top float64) {
	for i, v := range x {
		size := math.Abs(v)
		if !(size > ceiling) {
			continue
		}
		touched++
		x[i] = min(max(v, -ceiling), ceiling)
		if size > squarable {
			continue
		}
		d := v - x[i]
		s[i%8] += float64(d * d)
		top = max(top, size)
	}
	return touched, top
}

//choose:asm &x[0], &noise[0], len(x)&^7, scale, step, bottom, top
//choose:unless len(x) < 8
func quantiseGeneric(x, noise []float64, scale, step, bottom, top float64) int {
	for n := 0; ; n += 8 {
		if len(x)-n < 8 {
			return n
		}
		var codes [8]float64
		for i := range codes {
			codes[i] = math.RoundToEven(float64(x[n+i]*scale) + noise[n+i])
			if !(codes[i] >= bottom && codes[i] <= top) {
				return n
			}
		}
		for i, c := range codes {
			x[n+i] = float64(c*step) + 0 // what was rounded to -0 becomes 0
		}
	}
}

//choose:asm &noise[0], n, state
//choose:whole 8 noise
//choose:rest noise[n:], state+uint64(n)*RandomStep
func triangularGeneric(noise []float64, state uint64) {
	for i := range noise {
		state += RandomStep
		w := RandomWord(state)
		noise[i] = float64(int64(w>>32)-int64(w&0xffffffff)) * 0x1p-32
	}
}

//choose:asm2 &a[0], &b[0], n, &src[0]
//choose:whole 4 a
//choose:rest a[n:], b[n:], src[6*n:]
func decode24Generic(a, b []float64, src []byte) {
	for i := range a {
		s := src[6*i : 6*i+6 : 6*i+6]
		a[i] = float64(int32(s[0])<<8|int32(s[1])<<16|int32(s[2])<<24) * 0x1p-31
		b[i] = float64(int32(s[3])<<8|int32(s[4])<<16|int32(s[5])<<24) * 0x1p-31
	}
}

//choose:asm2 &dst[0], &a[0], &b[0], len(a)&^3
//choose:unless len(a) < 4
func encode24Generic(dst []byte, a, b []float64) int {
	for n := 0; ; n += 4 {
		if len(a)-n < 4 {
			return n
		}
		for i := n; i < n+4; i++ {
			x, okX := code24(a[i])
			y, okY := code24(b[i])
			if !okX || !okY {
				return n
			}
			d := dst[6*i : 6*i+6 : 6*i+6]
			d[0], d[1], d[2] = byte(x), byte(x>>8), byte(x>>16)
			d[3], d[4], d[5] = byte(y), byte(y>>8), byte(y>>16)
		}
	}
}

// code24 is the code of x, and whether there is one: full-1 is odd and full even, so that a tie at the
// upper end rounds beyond the codes, and one at the lower end to the lowest.
func code24(x float64) (int32, bool) {
	const full = 0x1p23
	x = float64(x * full)
	if !(x < full-0.5 && x >= -full-0.5) {
		return 0, false
	}
	// Added to 1.5 * 2^52, a number of less than 2^31 is rounded to an integer, in the low bits.
	return int32(math.Float64bits(x + 0x1.8p52)), true
}
