package main

import (
	"fmt"
	"math"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

func squares() {
	begin("squares", "y, a, b *float64, n int",
		"y[i] = a[i]*a[i] + b[i]*b[i], i < n, a multiple of 4 and not 0.")
	y, a, b, n := pointer("y"), pointer("a"), pointer("b"), count("n")
	loop("four", n, func() {
		p, q := load(at(a)), load(at(b))
		VMOVUPD(add(times(p, p), times(q, q)), at(y))
		on(y, a, b)
	})
	end()
}

func roots() {
	begin("roots", "y, a, b *float64, n int", "y[i] = (sqrt(a[i]) - sqrt(b[i]))^2, i < n, a multiple of "+
		"4 and not 0.")
	y, a, b, n := pointer("y"), pointer("a"), pointer("b"), count("n")
	loop("four", n, func() {
		p, q := YMM(), YMM()
		VSQRTPD(at(a), p)
		VSQRTPD(at(b), q)
		d := less(p, q)
		VMOVUPD(times(d, d), at(y))
		on(y, a, b)
	})
	end()
}

func raise() {
	begin("raise", "y, x *float64, n int", "y[i] = x[i]*x[i]*sqrt(x[i]), i < n, a multiple of 4 and not 0.")
	y, x, n := pointer("y"), pointer("x"), count("n")
	loop("four", n, func() {
		v, root := load(at(x)), YMM()
		VSQRTPD(v, root)
		VMOVUPD(times(times(v, v), root), at(y))
		on(y, x)
	})
	end()
}

func rise() {
	begin("rise", "r, u *float64, n int, sums *[16]float64",
		"Four times r[i] *= u[i], the k-th time added to sums[4*k + i%4], i < n, a multiple of 4 and not 0.")
	r, u, n := pointer("r"), pointer("u"), count("n")
	sums := pointer("sums")
	var acc [4]reg.VecVirtual
	for k := range acc {
		acc[k] = load(operand.Mem{Base: sums, Disp: 32 * k})
	}
	loop("four", n, func() {
		x, by := load(at(r)), load(at(u))
		for k := range acc {
			VMULPD(by, x, x)
			VADDPD(x, acc[k], acc[k])
		}
		VMOVUPD(x, at(r))
		on(r, u)
	})
	for k := range acc {
		VMOVUPD(acc[k], operand.Mem{Base: sums, Disp: 32 * k})
	}
	end()
}

const (
	ln2High = math.Ln2
	ln2Low  = 2.3190468138462996e-17
)

func exp() {
	begin("exp", "y, x *float64, n int", "y[i] = e^x[i], i < n, a multiple of 4 and not 0.")
	y, x, n := pointer("y"), pointer("x"), count("n")
	high, low := four("expHigh", 700), four("expLow", -700)
	perLn2, minusHigh, minusLow := YMM(), YMM(), YMM()
	VMOVUPD(four("perLn2", 1/math.Ln2), perLn2)
	VMOVUPD(four("minusLn2High", -ln2High), minusHigh)
	VMOVUPD(four("minusLn2Low", -ln2Low), minusLow)
	magic := YMM()
	VMOVUPD(four("wholes", 1.5*(1<<52)), magic)
	var c []operand.Mem
	factorial := 1.0
	for k := range 14 {
		if k > 0 {
			factorial *= float64(k)
		}
		c = append(c, four(fmt.Sprint("exp", k), 1/factorial))
	}
	loop("four", n, func() {
		v := load(at(x))
		VMINPD(high, v, v)
		VMAXPD(low, v, v)
		whole := times(v, perLn2)
		VROUNDPD(operand.U8(8), whole, whole)
		VFMADD231PD(minusHigh, whole, v)
		VFMADD231PD(minusLow, whole, v)
		sum := load(c[13])
		for k := 12; k >= 0; k-- {
			VFMADD213PD(c[k], v, sum)
		}
		VADDPD(magic, whole, whole)
		VPSLLQ(operand.U8(52), whole, whole)
		VPADDQ(whole, sum, sum)
		VMOVUPD(sum, at(y))
		on(y, x)
	})
	end()
}

func log() {
	begin("log", "y, x *float64, n int", "y[i] = ln x[i], i < n, a multiple of 4 and not 0.")
	y, x, n := pointer("y"), pointer("x"), count("n")
	const root = 0x3fe6a09e667f3bcd // of a half
	shift, mantissa := fourBits("logShift", 0x3ff0000000000000-root), fourBits("mantissa", 1<<52-1)
	rootBits, base := fourBits("rootOfHalf", root), fourBits("exponentBase", 0x4330000000000000)
	bias, one, two := four("exponentBias", 1<<52+1023), four("logOne", 1), four("logTwo", 2)
	high, low := four("ln2High", ln2High), four("ln2Low", ln2Low)
	var c []operand.Mem
	for k := 3; k <= 23; k += 2 {
		c = append(c, four(fmt.Sprint("log", k), 1/float64(k)))
	}
	loop("four", n, func() {
		bits := load(at(x))
		VPADDQ(shift, bits, bits)
		e := YMM()
		VPSRLQ(operand.U8(52), bits, e)
		VPOR(base, e, e)
		VSUBPD(bias, e, e)
		VPAND(mantissa, bits, bits)
		VPADDQ(rootBits, bits, bits)
		s, d := less(bits, one), add(bits, one)
		VDIVPD(d, s, s)
		z := times(s, s)
		sum := load(c[len(c)-1])
		for k := len(c) - 2; k >= 0; k-- {
			VFMADD213PD(c[k], z, sum)
		}
		VMULPD(two, s, s)
		tail := times(times(s, z), sum)
		VFMADD231PD(low, e, tail)
		VADDPD(s, tail, tail)
		VFMADD231PD(high, e, tail)
		VMOVUPD(tail, at(y))
		on(y, x)
	})
	end()
}
