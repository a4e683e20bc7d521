// Package spectra has the inner loops of Fourier transforms and of what is worked out from spectra.
//
// Each loop exists in Go, always compiled, and as assembly for processors that have AVX2 with FMA, chosen at
// run time. Both give the same bits. The build tag noasm leaves the assembly out. Package gen writes it.
//
// The functions read and write as many values as their first argument has, and panic if another has fewer.
package spectra

// Turns are the factors of a step that takes four parts at a time: rows of real and imaginary part of the
// turns of the second, the third and the fourth part, each for every turn.
type Turns []float64

// Len is the number of turns.
func (w Turns) Len() int { return len(w) / 6 }

// First is the step of a transform in which values that are taken together lie a quarter of all apart, and
// what they come to is put side by side. All slices have four times as many values as there are turns.
func First(toRe, toIm, fromRe, fromIm []float64, w Turns) {
	n := 4 * w.Len()
	toRe, toIm, fromRe, fromIm = toRe[:n], toIm[:n], fromRe[:n], fromIm[:n]
	if n > 0 && w.Len()%4 == 0 {
		first(toRe, toIm, fromRe, fromIm, w)
		return
	}
	firstGeneric(toRe, toIm, fromRe, fromIm, w)
}

// Strided is the step in which so many transforms are made next to each other: all slices have four times the
// stride for each turn.
func Strided(toRe, toIm, fromRe, fromIm []float64, w Turns, stride int) {
	n := 4 * w.Len() * stride
	toRe, toIm, fromRe, fromIm = toRe[:n], toIm[:n], fromRe[:n], fromIm[:n]
	if n > 0 && stride%4 == 0 {
		strided(toRe, toIm, fromRe, fromIm, w, stride)
		return
	}
	stridedGeneric(toRe, toIm, fromRe, fromIm, w, stride)
}

// Unfold sets bins 1 to n-1 of n real pairs of values from their transform as complex ones, z, of which there
// are n, an even number: those of which the first is the real, the second the imaginary part. It turns bin k
// by wRe[k] and wIm[k], up to the middle.
func Unfold(re, im, zRe, zIm, wRe, wIm []float64) {
	n := len(zRe)
	re, im, zIm, wRe, wIm = re[:n], im[:n], zIm[:n], wRe[:n/2+1], wIm[:n/2+1]
	done := 0
	if vectors := (n/2 - 1) / 4; vectors > 0 {
		done = unfold(re, im, zRe, zIm, wRe, wIm, 4*vectors)
	}
	for k := 1 + done; k <= n/2; k++ {
		aRe, aIm, bRe, bIm := zRe[k], zIm[k], zRe[n-k], zIm[n-k]
		evenRe, evenIm := float64(0.5*(aRe+bRe)), float64(0.5*(aIm-bIm))
		oddRe, oddIm := turned(0.5*(aIm+bIm), 0.5*(bRe-aRe), wRe[k], wIm[k])
		re[k], im[k] = evenRe+oddRe, evenIm+oddIm
		re[n-k], im[n-k] = evenRe-oddRe, oddIm-evenIm
	}
}

// Fold sets values 0 to n-1 of z, of which there are n, an even number, to those whose transform has the
// transform of n real pairs, the first of each its real and the second its imaginary part: that of which re
// and im are bins 0 to n, of half the height. It turns bin k back by wRe[k] and wIm[k], up to the middle. The
// imaginary parts of the first and the last bin count as 0.
func Fold(zRe, zIm, re, im, wRe, wIm []float64) {
	n := len(zRe)
	zIm, re, im, wRe, wIm = zIm[:n], re[:n+1], im[:n+1], wRe[:n/2+1], wIm[:n/2+1]
	zRe[0], zIm[0] = 0.5*(re[0]+re[n]), 0.5*(re[0]-re[n])
	done := 0
	if vectors := (n/2 - 1) / 4; vectors > 0 {
		done = fold(zRe, zIm, re, im, wRe, wIm, 4*vectors)
	}
	for k := 1 + done; k <= n/2; k++ {
		aRe, aIm, bRe, bIm := re[k], im[k], re[n-k], im[n-k]
		evenRe, evenIm := float64(0.5*(aRe+bRe)), float64(0.5*(aIm-bIm))
		oddRe, oddIm := turned(0.5*(aRe-bRe), 0.5*(aIm+bIm), wRe[k], -wIm[k])
		zRe[k], zIm[k] = evenRe-oddIm, evenIm+oddRe
		zRe[n-k], zIm[n-k] = evenRe+oddIm, oddRe-evenIm
	}
}

// Join sets x[2i] to byEven*even[i] and x[2i+1] to byOdd*odd[i].
func Join(x, even, odd []float64, byEven, byOdd float64) {
	even, odd = even[:len(x)/2], odd[:len(x)/2]
	join(x, even, odd, byEven, byOdd)
}

//choose:asm2 &x[0], &even[0], &odd[0], byEven, byOdd, n
//choose:whole 4 even
//choose:rest x[2*n:], even[n:], odd[n:], byEven, byOdd
func joinGeneric(x, even, odd []float64, byEven, byOdd float64) {
	for i := range even {
		x[2*i], x[2*i+1] = byEven*even[i], byOdd*odd[i]
	}
}

// Halves is the step of a transform in which two parts, each half of all, come to their sums and their
// differences.
func Halves(toRe, toIm, fromRe, fromIm []float64) {
	n := len(toRe)
	toIm, fromRe, fromIm = toIm[:n], fromRe[:n], fromIm[:n]
	if n > 0 && n%8 == 0 {
		halves(toRe, toIm, fromRe, fromIm)
		return
	}
	halvesGeneric(toRe, toIm, fromRe, fromIm)
}

//choose:asm2 &toRe[0], &toIm[0], &fromRe[0], &fromIm[0], len(toRe)/2
func halvesGeneric(toRe, toIm, fromRe, fromIm []float64) {
	m := len(fromRe) / 2
	for q := range m {
		a, b, c, d := fromRe[q], fromIm[q], fromRe[q+m], fromIm[q+m]
		toRe[q], toIm[q], toRe[q+m], toIm[q+m] = a+c, b+d, a-c, b-d
	}
}

// Part sets even[i] to x[2i] and odd[i] to x[2i+1].
func Part(even, odd, x []float64) {
	odd, x = odd[:len(even)], x[:2*len(even)]
	part(even, odd, x)
}

//choose:asm2 &even[0], &odd[0], &x[0], n
//choose:whole 4 even
//choose:rest even[n:], odd[n:], x[2*n:]
func partGeneric(even, odd, x []float64) {
	for i := range even {
		even[i], odd[i] = x[2*i], x[2*i+1]
	}
}

// PartTapered is Part of the products x[i]*taper[i].
func PartTapered(even, odd, x, taper []float64) {
	odd, x, taper = odd[:len(even)], x[:2*len(even)], taper[:2*len(even)]
	partTapered(even, odd, x, taper)
}

//choose:asm2 &even[0], &odd[0], &x[0], &taper[0], n
//choose:whole 4 even
//choose:rest even[n:], odd[n:], x[2*n:], taper[2*n:]
func partTaperedGeneric(even, odd, x, taper []float64) {
	for i := range even {
		even[i], odd[i] = x[2*i]*taper[2*i], x[2*i+1]*taper[2*i+1]
	}
}

// Rise multiplies each r[i] by u[i] four times. sums[k] is the sum of all after the k+1st time, in four
// lanes, that of i%4 for r[i], of which those of 0 and 1, and those of 2 and 3 are added first. The number of
// values is a multiple of 4.
func Rise(r, u []float64) (sums [4]float64) {
	if len(r)%4 != 0 {
		panic("spectra: length is not a multiple of 4")
	}
	var lanes [16]float64
	if len(r) > 0 {
		rise(r, u[:len(r)], &lanes)
	}
	for k := range sums {
		s := lanes[4*k:][:4]
		sums[k] = (s[0] + s[1]) + (s[2] + s[3])
	}
	return sums
}
