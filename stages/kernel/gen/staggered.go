package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

func (v vectors) addStaggered() {
	TEXT("addStaggered"+v.name, NOSPLIT, "func(y, x *float64, w *[16]float64, stride, n int)")
	Pragma("noescape")
	Doc("y[i] += w[8+k]*x[k*stride+4+i] and then w[k]*x[k*stride+8+i] for k < 8 in turn, i < 240*n, n > 0.")
	y, x := Load(Param("y"), GP64()).(reg.GPVirtual), Load(Param("x"), GP64()).(reg.GPVirtual)
	wp := Load(Param("w"), GP64()).(reg.GPVirtual)
	stride := Load(Param("stride"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHLQ(operand.Imm(3), stride)
	// As many sums at once as there are registers for: then each weight is loaded once for all of them.
	sums, parts := 12, 5
	if v.lanes == 8 {
		sums, parts = 15, 2
	}
	IMUL3Q(operand.Imm(uint64(parts)), n, n)
	loop("part", n, func() {
		acc := make([]reg.VecVirtual, sums)
		for m := range acc {
			acc[m] = v.reg()
			VMOVUPD(v.at(y, nil, m), acc[m])
		}
		row, weight, rows := GP64(), GP64(), GP64()
		MOVQ(x, row)
		MOVQ(wp, weight)
		MOVQ(operand.U32(8), rows)
		loop("row", rows, func() {
			first, second := v.reg(), v.reg()
			VBROADCASTSD(operand.Mem{Base: weight}, first)
			VBROADCASTSD(operand.Mem{Base: weight, Disp: 64}, second)
			v.staggeredRow(acc, row, first, second)
			ADDQ(operand.Imm(8), weight)
			ADDQ(stride, row)
		})
		for m := range acc {
			VMOVUPD(acc[m], v.at(y, nil, m))
		}
		ADDQ(operand.U32(uint64(8*v.lanes*sums)), x)
		ADDQ(operand.U32(uint64(8*v.lanes*sums)), y)
	})
	v.end()
}

// staggeredRow adds a row by the second weight, four values later, and by the first. With AVX2 that is the
// vector before, so that each is loaded once for both.
func (v vectors) staggeredRow(acc []reg.VecVirtual, row reg.GPVirtual, first, second reg.VecVirtual) {
	if v.lanes == 8 {
		for m := range acc {
			VFMADD231PD(operand.Mem{Base: row, Disp: 32 + 64*m}, second, acc[m])
			VFMADD231PD(operand.Mem{Base: row, Disp: 64 + 64*m}, first, acc[m])
		}
		return
	}
	for m := range len(acc) + 1 {
		from := v.reg()
		VMOVUPD(operand.Mem{Base: row, Disp: 32 + 32*m}, from)
		if m < len(acc) {
			VFMADD231PD(from, second, acc[m])
		}
		if m > 0 {
			VFMADD231PD(from, first, acc[m-1])
		}
	}
}
