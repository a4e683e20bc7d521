package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// walk has AVX2 only: it waits for sums of twenty products whatever the width.
func walk() {
	TEXT("walkAVX2", NOSPLIT, "func(rows *[20][8]float64, y *float64, sign, x, step float64, s *[18]float64)")
	Pragma("noescape")
	Doc("See walkGeneric.")
	v := avx2
	rows, y := Load(Param("rows"), GP64()), Load(Param("y"), GP64())
	out := Load(Param("s"), GP64())
	acc := v.zeros(2)
	for j := range 20 {
		b := v.reg()
		VBROADCASTSD(operand.Mem{Base: y, Disp: 8 * j}, b)
		for p := range acc {
			VFMADD231PD(v.at(rows, nil, 2*j+p), b, acc[p])
		}
	}
	sign := v.broadcast("sign")
	for p := range acc {
		VMULPD(sign, acc[p], acc[p])
		VMOVUPD(acc[p], v.at(out, nil, p))
	}
	// The places, each a step after the one before it.
	var x [5]reg.VecVirtual
	x[0] = Load(Param("x"), XMM()).(reg.VecVirtual)
	step := Load(Param("step"), XMM()).(reg.VecVirtual)
	for i := 1; i < len(x); i++ {
		x[i] = XMM()
		VADDSD(step, x[i-1], x[i])
	}
	low, high, four := XMM(), XMM(), YMM()
	VUNPCKLPD(x[2], x[1], low)
	VUNPCKLPD(x[4], x[3], high)
	VINSERTF128(operand.Imm(1), high, low.AsY(), four)
	place := func(from int) operand.Mem { return operand.Mem{Base: out, Disp: 8 * (powers + from)} }
	VMOVSD(x[0], place(0))
	VMOVUPD(four, place(1))
	first, rest := XMM(), YMM()
	for d := powers - 1; d >= 0; d-- {
		if d == powers-1 {
			VBROADCASTSD(operand.Mem{Base: out, Disp: 8 * d}, rest)
			VMOVSD(operand.Mem{Base: out, Disp: 8 * d}, first)
			continue
		}
		c := YMM()
		VBROADCASTSD(operand.Mem{Base: out, Disp: 8 * d}, c)
		VFMADD213PD(c, four, rest)
		VFMADD213SD(c.AsX(), x[0], first)
	}
	VMOVSD(first, place(5))
	VMOVUPD(rest, place(6))
	v.end()
}

// falls has both slopes in one register, as each of its steps waits for the one before it.
func falls() {
	TEXT("fallsAVX2", NOSPLIT, "func(f *[28]float64)")
	Pragma("noescape")
	Doc("See fallsGeneric.")
	const turns = 40 // as fallTurns
	f := Load(Param("f"), GP64())
	pair := func(i int) operand.Mem { return operand.Mem{Base: f, Disp: 16 * i} }
	load := func(m operand.Op) reg.VecVirtual {
		r := XMM()
		VMOVUPD(m, r)
		return r
	}
	const x, step, level, before, after, part = powers, powers + 1, powers + 2, powers + 3, powers +
		4, powers + 5
	two := func(c float64) reg.VecVirtual {
		r := XMM()
		VMOVDDUP(scalar(c), r)
		return r
	}
	zero, a, b := XMM(), XMM(), two(1)
	VXORPD(zero, zero, zero)
	VXORPD(a, a, a)
	fa, fb, by := load(pair(before)), load(pair(after)), load(pair(step))
	near, done, found := XMM(), XMM(), XMM()
	VSUBPD(fb, fa, near)
	VMULPD(two(1e-7), near, near)
	VXORPD(found, found, found)
	VCMPPD(operand.U8(notLessThan), fa, zero, done) // where it is not above the level
	half, left := two(0.5), GP64()
	MOVQ(operand.U32(turns), left)
	Label("turn")
	s, d, at, v := XMM(), XMM(), XMM(), XMM()
	VSUBPD(a, b, s)
	VMULPD(fa, s, s)
	VSUBPD(fb, fa, d)
	VDIVPD(d, s, s)
	VADDPD(s, a, s)
	VMOVAPD(s, at)
	VFMADD213PD(pair(x), by, at)
	VMOVUPD(pair(powers-1), v)
	for k := powers - 2; k >= 0; k-- {
		VFMADD213PD(pair(k), at, v)
	}
	VSUBPD(pair(level), v, v)
	// Of those that are there now, the place is kept.
	size, there, sign := XMM(), XMM(), XMM()
	VSUBPD(v, zero, size)
	VMAXPD(v, size, size)
	VCMPPD(operand.U8(less), near, size, there)
	VANDNPD(there, done, sign)
	VBLENDVPD(sign, s, found, found)
	VORPD(there, done, done)
	bits := GP32()
	VMOVMSKPD(done, bits)
	CMPL(bits, operand.Imm(3))
	JE(operand.LabelRef("end"))
	above, halved := XMM(), XMM()
	VCMPPD(operand.U8(less), v, zero, above)
	VMULPD(half, fa, halved)
	VBLENDVPD(above, v, halved, fa)
	VMULPD(half, fb, halved)
	VBLENDVPD(above, halved, v, fb)
	VBLENDVPD(above, s, a, a)
	VBLENDVPD(above, b, s, b)
	DECQ(left)
	JNZ(operand.LabelRef("turn"))
	Label("end")
	VBLENDVPD(done, found, b, found)
	VMOVUPD(found, pair(part))
	avx2.end()
}

// notLessThan is true where a number is not less than another, or where one is none.
const notLessThan = 5
