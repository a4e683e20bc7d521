package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

func (v vectors) climb() {
	TEXT("climb"+v.name, NOSPLIT, "func(rows *[20][8]float64, y *float64, top *[4]float64)")
	Pragma("noescape")
	Doc("See climbGeneric.")
	rows, y := Load(Param("rows"), GP64()), Load(Param("y"), GP64())
	parts := powers / v.lanes
	acc := v.zeros(4 * parts)
	for j := range 20 {
		b := v.reg()
		VBROADCASTSD(operand.Mem{Base: y, Disp: 8 * j}, b)
		for p := range parts {
			VFMADD231PD(v.at(rows, nil, j*parts+p), b, acc[j%4*parts+p])
		}
	}
	found := v.scratch(powers * 8) // aligned, or what is stored at once would be slow to load in parts
	for p := range parts {
		VADDPD(acc[parts+p], acc[p], acc[p])
		VADDPD(acc[3*parts+p], acc[2*parts+p], acc[2*parts+p])
		VADDPD(acc[2*parts+p], acc[p], acc[p])
		VMOVUPD(acc[p], v.at(found, nil, p))
	}
	c := func(d int) operand.Mem { return operand.Mem{Base: found, Disp: 8 * d} }

	x := XMM()
	VMOVSD(scalar(-0.5), x)
	VDIVSD(c(2), x, x)
	VMULSD(c(1), x, x)
	height, d1, d2, d3 := XMM(), XMM(), XMM(), XMM()
	VMOVSD(c(powers-1), height)
	derive([]reg.VecVirtual{height, d1, d2, d3}, x, c)

	r, back, square := XMM(), XMM(), XMM()
	VMOVSD(scalar(0.5), r)
	VDIVSD(d2, r, r)
	VMULSD(r, d1, back)
	VMULSD(back, back, square)
	VMULSD(scalar(3), r, r)
	VMULSD(d3, r, r)
	VFMADD231SD(square, r, back)
	VSUBSD(back, x, x)
	VMOVSD(c(powers-1), height)
	for d := powers - 2; d >= 0; d-- {
		VFMADD213SD(c(d), x, height)
	}
	out := Load(Param("top"), GP64())
	for i, p := range []reg.VecVirtual{x, height, d2} {
		VMOVSD(p, operand.Mem{Base: out, Disp: 8 * i})
	}
	middle := XMM()
	VMOVSD(c(0), middle)
	VMOVSD(middle, operand.Mem{Base: out, Disp: 24})
	v.end()
}

// derive makes of sums, of which the first is the highest coefficient, the value of the polynomial at x, and
// its k-th derivatives over k!.
func derive(sums []reg.VecVirtual, x reg.VecVirtual, c func(d int) operand.Mem) {
	for d := powers - 2; d >= 0; d-- {
		for k := min(len(sums)-1, powers-1-d); k > 0; k-- {
			if powers-1-d == k {
				VMOVAPD(sums[k-1], sums[k])
			} else {
				VFMADD213SD(sums[k-1], x, sums[k])
			}
		}
		VFMADD213SD(c(d), x, sums[0])
	}
}
