package kernel

import "math"

// A Walk is a polynomial of the seventh degree, and what it is at places that lie a step apart.
// (The assembly knows the order of the fields.)
type Walk struct {
	C     [powers]float64 // the coefficients of the powers of x
	At    [5]float64      // places
	Value [5]float64
}

// Find makes of s the polynomial that has sum over j of sign * rows[j][d] * y[j] as its coefficient of x^d,
// and goes from the place x on by steps. The sign is 1 or -1.
func (s *Walk) Find(rows *[20][8]float64, y *[20]float64, sign, x, step float64) {
	walk(rows, y, sign, x, step, s)
}

// walkGeneric is Find.
//
//choose:asm2 rows, &y[0], sign, x, step, (*[18]float64)(unsafe.Pointer(s))
func walkGeneric(rows *[20][8]float64, y *[20]float64, sign, x, step float64, s *Walk) {
	var c0, c1, c2, c3, c4, c5, c6, c7 float64 // and not an array, so that they are kept in registers
	for j, v := range y {
		w := &rows[j]
		c0, c1, c2, c3 = math.FMA(v, w[0], c0), math.FMA(v, w[1], c1), math.FMA(v, w[2], c2), math.FMA(v, w[3], c3)
		c4, c5, c6, c7 = math.FMA(v, w[4], c4), math.FMA(v, w[5], c5), math.FMA(v, w[6], c6), math.FMA(v, w[7], c7)
	}
	s.C = [powers]float64{c0, c1, c2, c3, c4, c5, c6, c7}
	for d := range s.C {
		s.C[d] *= sign
	}
	for i := range s.At {
		s.At[i] = x
		v := s.C[powers-1]
		for d := powers - 2; d >= 0; d-- {
			v = math.FMA(v, x, s.C[d])
		}
		s.Value[i] = v
		x += step
	}
}

// Falls are two slopes, on each of which a polynomial falls below a level. (The assembly knows the order of
// the fields.)
type Falls struct {
	c                                   [powers][2]float64
	x, step, level, before, after, part [2]float64
}

// Set says that slope i is the step of s from its place k on.
func (f *Falls) Set(i int, s *Walk, k int, step, level float64) {
	for d, c := range s.C {
		f.c[d][i] = c
	}
	f.x[i], f.step[i], f.level[i] = s.At[k], step, level
	f.before[i], f.after[i] = s.Value[k]-level, s.Value[k+1]-level
}

// Clear says that there is no slope i.
func (f *Falls) Clear(i int) { f.before[i], f.step[i] = 0, 0 }

// Find finds the part of each step after which the polynomial has fallen to the level, by false position. It
// is 0 where the polynomial is not above the level before the step.
func (f *Falls) Find() (a, b float64) {
	falls(f)
	return f.part[0], f.part[1]
}

// fallTurns is how often Find looks at most.
const fallTurns = 40

// fallsGeneric is Find.
//
//choose:asm2 (*[28]float64)(unsafe.Pointer(f))
func fallsGeneric(f *Falls) {
	for i := range f.part {
		f.part[i] = f.fall(i)
	}
}

func (f *Falls) fall(i int) float64 {
	a, b := 0.0, 1.0
	fa, fb := f.before[i], f.after[i]
	if !(fa > 0) {
		return 0
	}
	near := 1e-7 * (fa - fb) // so much of the height is as much of a step
	for range fallTurns {
		s := a + (b-a)*fa/(fa-fb)
		x := math.FMA(f.step[i], s, f.x[i])
		v := f.c[powers-1][i]
		for d := powers - 2; d >= 0; d-- {
			v = math.FMA(v, x, f.c[d][i])
		}
		v -= f.level[i]
		switch {
		case math.Abs(v) < near:
			return s
		case v > 0:
			a, fa = s, v
			fb /= 2
		default:
			b, fb = s, v
			fa /= 2
		}
	}
	return b
}
