package main

import (
	"math"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

const cell = 64 // values that scan takes together

func (v vectors) scan() {
	TEXT("scan"+v.name, NOSPLIT, "func(x, peaks, bends *float64, n int, s *[16]float64)")
	Pragma("noescape")
	Doc("peaks and bends of n cells of x, n > 0; adds x[i] to s[i%8], and its square to s[8+i%8].")
	x := Load(Param("x"), GP64()).(reg.GPVirtual)
	peaks, bends := Load(Param("peaks"), GP64()).(reg.GPVirtual), Load(Param("bends"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	sums := Load(Param("s"), GP64())
	parts := 8 / v.lanes
	acc, squares := v.zeros(parts), v.zeros(parts)
	two, mask := v.constant(2), v.magnitude()
	loop("cell", n, func() {
		peak, bend := v.zeros(parts), v.zeros(parts)
		for i := range cell / v.lanes {
			a, d := v.reg(), v.reg()
			VMOVUPD(v.at(x, nil, i), a)
			VADDPD(a, acc[i%parts], acc[i%parts])
			VFMADD231PD(a, a, squares[i%parts])
			VADDPD(back(v.at(x, nil, i), 2), a, d)
			VFNMADD231PD(back(v.at(x, nil, i), 1), two, d)
			v.top(a, peak[i%parts], mask)
			v.top(d, bend[i%parts], mask)
		}
		for p := 1; p < parts; p++ {
			VMAXPD(peak[p], peak[0], peak[0])
			VMAXPD(bend[p], bend[0], bend[0])
		}
		v.tops(peak[0], bend[0], peaks, bends)
		ADDQ(operand.U32(8*cell), x)
		ADDQ(operand.Imm(8), peaks)
		ADDQ(operand.Imm(8), bends)
	})
	for i, a := range append(acc, squares...) {
		VADDPD(v.at(sums, nil, i), a, a)
		VMOVUPD(a, v.at(sums, nil, i))
	}
	v.end()
}

const edgeTaps = 21

// edge makes eight vectors of sums at once. Each vector that it loads meets all taps that are a
// multiple of eight apart.
func (v vectors) edge() {
	TEXT("edge"+v.name, NOSPLIT, "func(x *[84]float64, taps *[21]float64) float64")
	Pragma("noescape")
	Doc("Sum of the squares of the sums over j of taps[j] * x[i+j], in lanes i%8.")
	x, taps := Load(Param("x"), GP64()), Load(Param("taps"), GP64())
	squares := v.zeros(8 / v.lanes)
	for part := range cell / (8 * v.lanes) {
		sums := v.zeros(8)
		for first := range 8 {
			var tap []reg.VecVirtual
			for j := first; j < edgeTaps; j += 8 {
				t := v.reg()
				VBROADCASTSD(operand.Mem{Base: taps, Disp: 8 * j}, t)
				tap = append(tap, t)
			}
			apart := 8 / v.lanes // vectors
			for i := range len(sums) + apart*(len(tap)-1) {
				a := v.reg()
				VMOVUPD(back(v.at(x, nil, 8*part+i), -first), a)
				for k, t := range tap {
					if to := i - apart*k; to >= 0 && to < len(sums) {
						VFMADD231PD(t, a, sums[to])
					}
				}
			}
		}
		for i, d := range sums {
			VFMADD231PD(d, d, squares[i%len(squares)])
		}
	}
	Store(v.sum(squares), ReturnIndex(0))
	v.end()
}

// sum is the sum of eight lanes, by halves.
func (v vectors) sum(r []reg.VecVirtual) reg.Register {
	half := YMM()
	if v.lanes == 8 {
		VEXTRACTF64X4(operand.Imm(1), r[0], half)
		VADDPD(half, r[0].AsY(), half)
	} else {
		VADDPD(r[1], r[0], half)
	}
	quarter := XMM()
	VEXTRACTF128(operand.Imm(1), half, quarter)
	VADDPD(quarter, half.AsX(), quarter)
	other := XMM()
	VPERMILPD(operand.Imm(1), quarter, other)
	VADDSD(other, quarter, quarter)
	return quarter
}

// back is m that many values earlier.
func back(m operand.Mem, values int) operand.Mem {
	m.Disp -= 8 * values
	return m
}

// size is a without its sign.
func (v vectors) size(a, mask reg.VecVirtual) reg.VecVirtual {
	r := v.reg()
	if v.lanes == 8 {
		VPANDQ(mask, a, r)
	} else {
		VANDPD(mask, a, r)
	}
	return r
}

// top makes m the larger of its own and |a|.
func (v vectors) top(a, m, mask reg.VecVirtual) {
	if v.lanes == 8 {
		VRANGEPD(operand.Imm(0xb), a, m, m) // the larger magnitude, without its sign
		return
	}
	VMAXPD(v.size(a, mask), m, m)
}

// tops stores the largest lane of a and of b.
func (v vectors) tops(a, b reg.VecVirtual, toA, toB reg.Register) {
	low, high := v.reg(), v.reg()
	upper := XMM()
	// Halves of a in the lower half, of b in the upper.
	if v.lanes == 8 {
		VSHUFF64X2(operand.Imm(0x44), b, a, low)
		VSHUFF64X2(operand.Imm(0xee), b, a, high)
		VMAXPD(high, low, low)
		VPERMPD(operand.Imm(0x4e), low, high)
		VMAXPD(high, low, low)
	} else {
		VPERM2F128(operand.Imm(0x20), b, a, low)
		VPERM2F128(operand.Imm(0x31), b, a, high)
		VMAXPD(high, low, low)
	}
	VPERMILPD(operand.Imm(0x55), low, high)
	VMAXPD(high, low, low)
	VMOVSD(low.AsX(), operand.Mem{Base: toA})
	if v.lanes == 8 {
		VEXTRACTF64X2(operand.Imm(2), low, upper)
	} else {
		VEXTRACTF128(operand.Imm(1), low, upper)
	}
	VMOVSD(upper, operand.Mem{Base: toB})
}

// constant is a register with c in every lane.
func (v vectors) constant(c float64) reg.VecVirtual {
	r, g, low := v.reg(), GP64(), XMM()
	MOVQ(operand.U64(math.Float64bits(c)), g)
	VMOVQ(g, low)
	VBROADCASTSD(low, r)
	return r
}

func (v vectors) above() {
	TEXT("above"+v.name, NOSPLIT, "func(x *[32]float64, limit float64) uint32")
	Pragma("noescape")
	Doc("Bit i: |x[i]| > limit.")
	x := Load(Param("x"), GP64())
	limit, mask := v.broadcast("limit"), v.magnitude()
	set := GP32()
	for i := 32/v.lanes - 1; i >= 0; i-- {
		a := v.reg()
		VMOVUPD(v.at(x, nil, i), a)
		part := v.bits(v.compare(less, limit, v.size(a, mask)))
		if i == 32/v.lanes-1 {
			MOVL(part, set)
			continue
		}
		SHLL(operand.U8(v.lanes), set)
		ORL(part, set)
	}
	Store(set, ReturnIndex(0))
	v.end()
}
