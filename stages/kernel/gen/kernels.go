package main

import (
	"fmt"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// zip is for AVX-512 only: the AVX2 one interleaves four by four.
func (v vectors) zip() {
	TEXT("zip"+v.name, NOSPLIT, "func(y, a, b *float64, n int)")
	Pragma("noescape")
	Doc("y[2i] = a[i], y[2i+1] = b[i], i < n, a multiple of 8 and not 0.")
	y, a, b := Load(Param("y"), GP64()).(reg.GPVirtual), Load(Param("a"), GP64()).(reg.GPVirtual),
		Load(Param("b"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(3), n)
	loop("eight", n, func() {
		for i := range 8 / v.lanes {
			p, q, even, odd := v.reg(), v.reg(), v.reg(), v.reg()
			VMOVUPD(v.at(a, nil, i), p)
			VMOVUPD(v.at(b, nil, i), q)
			// Of each half of 128 bits: a0 b0 a2 b2 ... and a1 b1 a3 b3 ...
			VUNPCKLPD(q, p, even)
			VUNPCKHPD(q, p, odd)
			low, high := v.reg(), v.reg()
			if v.lanes == 4 {
				VPERM2F128(operand.Imm(0x20), odd, even, low)
				VPERM2F128(operand.Imm(0x31), odd, even, high)
			} else {
				// Halves 0 1 of each to the front, then in turn.
				VSHUFF64X2(operand.Imm(0x44), odd, even, low)
				VSHUFF64X2(operand.Imm(0xee), odd, even, high)
				VSHUFF64X2(operand.Imm(0xd8), low, low, low)
				VSHUFF64X2(operand.Imm(0xd8), high, high, high)
			}
			VMOVUPD(low, v.at(y, nil, 2*i))
			VMOVUPD(high, v.at(y, nil, 2*i+1))
		}
		ADDQ(operand.U32(128), y)
		ADDQ(operand.Imm(64), a)
		ADDQ(operand.Imm(64), b)
	})
	v.end()
}

func (v vectors) evens() {
	TEXT("evens"+v.name, NOSPLIT, "func(y, x *float64, n int)")
	Pragma("noescape")
	Doc("y[i] = x[2i], i < n, a multiple of 8 and not 0.")
	y, x := Load(Param("y"), GP64()).(reg.GPVirtual), Load(Param("x"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(3), n)
	loop("eight", n, func() {
		for i := range 8 / v.lanes {
			a, b := v.reg(), v.reg()
			VMOVUPD(v.at(x, nil, 2*i), a)
			VUNPCKLPD(v.at(x, nil, 2*i+1), a, a) // of each half of 128 bits: a0 b0 a2 b2 ...
			if v.lanes == 4 {
				VPERMPD(operand.Imm(0xd8), a, a)
			} else {
				order := v.reg()
				VMOVUPD(evensOrder(), order)
				VPERMPD(a, order, b)
				a = b
			}
			VMOVUPD(a, v.at(y, nil, i))
		}
		ADDQ(operand.U32(128), x)
		ADDQ(operand.Imm(64), y)
	})
	v.end()
}

// evensOrder is the lanes 0 2 4 6 1 3 5 7.
func evensOrder() operand.Mem {
	order := GLOBL("evensOrder", RODATA|NOPTR)
	for i, lane := range []uint64{0, 2, 4, 6, 1, 3, 5, 7} {
		DATA(8*i, operand.U64(lane))
	}
	return order
}

func (v vectors) addScaled() {
	TEXT("addScaled"+v.name, NOSPLIT, "func(y, x *float64, a float64, n int)")
	Pragma("noescape")
	Doc("y[i] += a * x[i], i < n, a multiple of 8 and not 0.")
	y, x := Load(Param("y"), GP64()).(reg.GPVirtual), Load(Param("x"), GP64()).(reg.GPVirtual)
	a := v.reg()
	p, _ := Param("a").Resolve()
	VBROADCASTSD(p.Addr, a)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(3), n)
	loop("eight", n, func() {
		for i := range 8 / v.lanes {
			s := v.reg()
			VMOVUPD(v.at(y, nil, i), s)
			VFMADD231PD(v.at(x, nil, i), a, s)
			VMOVUPD(s, v.at(y, nil, i))
		}
		ADDQ(operand.Imm(64), y)
		ADDQ(operand.Imm(64), x)
	})
	v.end()
}

func (v vectors) addScaledRows() {
	TEXT("addScaledRows"+v.name, NOSPLIT, "func(y, x *float64, stride int, w *[4]float64, n int)")
	Pragma("noescape")
	Doc("y[i] += w[0]*x[i] + w[1]*x[stride+i] + w[2]*x[2*stride+i] + w[3]*x[3*stride+i], in that order, i < " +
		"n, a multiple of 8 and not 0.")
	y := Load(Param("y"), GP64()).(reg.GPVirtual)
	var x [4]reg.GPVirtual
	x[0] = Load(Param("x"), GP64()).(reg.GPVirtual)
	stride := Load(Param("stride"), GP64()).(reg.GPVirtual)
	for k := 1; k < 4; k++ {
		x[k] = GP64()
		LEAQ(operand.Mem{Base: x[k-1], Index: stride, Scale: 8}, x[k])
	}
	wp := Load(Param("w"), GP64())
	var w [4]reg.VecVirtual
	for k := range w {
		w[k] = v.reg()
		VBROADCASTSD(operand.Mem{Base: wp, Disp: 8 * k}, w[k])
	}
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(3), n)
	loop("eight", n, func() {
		for i := range 8 / v.lanes {
			s := v.reg()
			VMOVUPD(v.at(y, nil, i), s)
			for k := range w {
				VFMADD231PD(v.at(x[k], nil, i), w[k], s)
			}
			VMOVUPD(s, v.at(y, nil, i))
		}
		ADDQ(operand.Imm(64), y)
		for k := range x {
			ADDQ(operand.Imm(64), x[k])
		}
	})
	v.end()
}

func (v vectors) addScaled16() {
	TEXT("addScaled16"+v.name, NOSPLIT, "func(y, x *float64, w *[16]float64, n int)")
	Pragma("noescape")
	Doc("y[8*v+i] += w[0]*x[128*v+i] + ... + w[15]*x[128*v+8*15+i], in that order, i < 8, v < n, n > 0.")
	y, x := Load(Param("y"), GP64()).(reg.GPVirtual), Load(Param("x"), GP64()).(reg.GPVirtual)
	wp := Load(Param("w"), GP64())
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	// As many weights at once as there are registers for.
	const rows = 16
	for from := 0; from < rows; from += 2 * v.lanes {
		var w []reg.VecVirtual
		for k := range 2 * v.lanes {
			w = append(w, v.reg())
			VBROADCASTSD(operand.Mem{Base: wp, Disp: 8 * (from + k)}, w[k])
		}
		to, at, left := GP64(), GP64(), GP64()
		MOVQ(y, to)
		MOVQ(x, at)
		MOVQ(n, left)
		loop(fmt.Sprint("eight", from), left, func() {
			for i := range 8 / v.lanes {
				s := v.reg()
				VMOVUPD(v.at(to, nil, i), s)
				for k := range w {
					VFMADD231PD(operand.Mem{Base: at, Disp: 64*(from+k) + 8*v.lanes*i}, w[k], s)
				}
				VMOVUPD(s, v.at(to, nil, i))
			}
			ADDQ(operand.Imm(64), to)
			ADDQ(operand.U32(64*rows), at)
		})
	}
	v.end()
}

func (v vectors) combine() {
	TEXT("combine"+v.name, NOSPLIT, "func(c *[12]float64, rows *[12][12]float64, y *float64)")
	Pragma("noescape")
	Doc("c[d] = sum over j of rows[j][d] * y[j].")
	c, rows, y := Load(Param("c"), GP64()), Load(Param("rows"), GP64()), Load(Param("y"), GP64())
	// Twelve columns are three registers of four, or one of eight and one of four.
	type part struct {
		acc reg.VecVirtual
		new func() reg.VecVirtual
		at  int
	}
	parts := []part{{YMM(), YMM, 0}, {YMM(), YMM, 4}, {YMM(), YMM, 8}}
	if v.lanes == 8 {
		parts = []part{{ZMM(), ZMM, 0}, {YMM(), YMM, 8}}
	}
	for _, p := range parts {
		if p.acc.Size() == 64 {
			VPXORQ(p.acc, p.acc, p.acc)
		} else {
			VXORPD(p.acc, p.acc, p.acc)
		}
	}
	for j := range 12 {
		for _, p := range parts {
			b := p.new()
			VBROADCASTSD(operand.Mem{Base: y, Disp: 8 * j}, b)
			VFMADD231PD(operand.Mem{Base: rows, Disp: 8 * (12*j + p.at)}, b, p.acc)
		}
	}
	for _, p := range parts {
		VMOVUPD(p.acc, operand.Mem{Base: c, Disp: 8 * p.at})
	}
	v.end()
}

func (v vectors) maxAbs() {
	TEXT("maxAbs"+v.name, NOSPLIT, "func(x *float64, n int) float64")
	Pragma("noescape")
	Doc("The largest |x[i]|, i < n, a multiple of 32 and not 0; NaN is passed over.")
	x := Load(Param("x"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(5), n)
	mask, bits := v.reg(), GP64()
	MOVQ(operand.U64(1<<63-1), bits)
	low := XMM()
	VMOVQ(bits, low)
	VBROADCASTSD(low, mask)
	acc := v.zeros(4)
	loop("more", n, func() {
		for i := range 32 / v.lanes {
			s := v.reg()
			if v.lanes == 8 {
				VPANDQ(v.at(x, nil, i), mask, s)
			} else {
				VANDPD(v.at(x, nil, i), mask, s)
			}
			// Where one is NaN the second source, acc, is kept.
			VMAXPD(acc[i%4], s, acc[i%4])
		}
		ADDQ(operand.U32(256), x)
	})
	VMAXPD(acc[1], acc[0], acc[0])
	VMAXPD(acc[3], acc[2], acc[2])
	VMAXPD(acc[2], acc[0], acc[0])
	Store(v.largest(acc[0]), ReturnIndex(0))
	v.end()
}

func (v vectors) end() {
	VZEROUPPER()
	RET()
}
