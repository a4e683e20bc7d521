package main

import (
	"fmt"
	"math"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// around is the value at a place and its neighbours, all with the sign that makes it positive, and, if
// asked for, the bend of the three, (a-b) + (d-b), times a quarter.
type around struct {
	a, b, d, quarter reg.VecVirtual
}

// around loads x[i-1], x[i] and x[i+1] for the lanes at p, less level.
func (v vectors) around(p reg.Register, mask, level, fourth reg.VecVirtual) around {
	x, before, behind := v.reg(), v.reg(), v.reg()
	VMOVUPD(operand.Mem{Base: p, Disp: -8}, before)
	VMOVUPD(operand.Mem{Base: p}, x)
	VMOVUPD(operand.Mem{Base: p, Disp: 8}, behind)
	size, sign := v.abs(x, mask)
	r := around{v.flip(before, sign), size, v.flip(behind, sign), nil}
	if level != nil {
		VSUBPD(level, r.a, r.a)
		VSUBPD(level, r.b, r.b)
		VSUBPD(level, r.d, r.d)
	}
	if fourth == nil {
		return r
	}
	r.quarter = v.reg()
	other := v.reg()
	VSUBPD(r.b, r.a, r.quarter)
	VSUBPD(r.b, r.d, other)
	VADDPD(other, r.quarter, r.quarter)
	VMULPD(fourth, r.quarter, r.quarter)
	return r
}

// quarter is a register of 1/4.
func (v vectors) quarter() reg.VecVirtual {
	r, bits, low := v.reg(), GP64(), XMM()
	MOVQ(operand.U64(math.Float64bits(0.25)), bits)
	VMOVQ(bits, low)
	VBROADCASTSD(low, r)
	return r
}

func (v vectors) peaks() {
	TEXT("peaks"+v.name, NOSPLIT, "func(x *float64, n int, aim, give float64, mask *byte)")
	Pragma("noescape")
	Doc("Sets bit i of mask where x[i] may be at a peak that passes the aim, i < n, a multiple of 8 and not " +
		"0: see Peaks.")
	p, mask := Load(Param("x"), GP64()).(reg.GPVirtual), GP64()
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	Load(Param("mask"), mask)
	SHRQ(operand.Imm(3), n)
	magnitude, aim, give, quarter, zero := v.magnitude(), v.broadcast("aim"), v.broadcast("give"), v.quarter(),
		v.zeros(1)[0]
	loop("eight", n, func() {
		var all reg.GPVirtual
		for part := range 8 / v.lanes {
			r := v.around(p, magnitude, nil, nil)
			left, right, bow, slope := v.reg(), v.reg(), v.reg(), v.reg()
			VSUBPD(r.a, r.b, left)
			VSUBPD(r.d, r.b, right)
			VADDPD(right, left, bow)
			VSUBPD(r.d, r.a, slope)
			VMULPD(slope, slope, slope)
			VMULPD(quarter, slope, slope)
			top, over := v.reg(), v.reg()
			VMULPD(give, bow, top)
			VSUBPD(aim, r.b, over)
			VADDPD(over, top, top)
			VFMADD213PD(slope, bow, top)
			found := v.bits(v.and(v.and(v.compare(lessEqual, zero, left), v.compare(less, zero, right)),
				v.compare(less, zero, top)))
			if part == 0 {
				all = found
			} else {
				SHLL(operand.Imm(uint64(part*v.lanes)), found)
				ORL(found, all)
			}
			ADDQ(operand.Imm(uint64(8*v.lanes)), p)
		}
		MOVB(all.As8(), operand.Mem{Base: mask})
		INCQ(mask)
	})
	v.end()
}

// turns has a bit for each place where the three of r, less the level, have a peak that may pass it, or a dip
// that may not. At either the value lies on one side and the top of the parabola on the other, which
// is rare, so nothing else is compared where there is no such place.
func (v vectors) turns(r around, zero reg.VecVirtual, straight string) reg.GPVirtual {
	top := v.reg()
	VSUBPD(r.quarter, r.b, top)
	within, flat := v.compare(lessEqual, r.b, zero), v.compare(lessEqual, top, zero)
	found := v.bits(v.differ(within, flat))
	TESTL(found, found)
	JZ(operand.LabelRef(straight))
	peak := v.compareAlso(v.compareAlso(v.compareAlso(within, less, r.a, r.b), lessEqual, r.d, r.b),
		less, zero, top)
	dip := v.compareAlso(v.compareAlso(v.compareAlso(flat, less, zero, r.b), less, r.b, r.a),
		lessEqual, r.b, r.d)
	v.setBits(v.or(peak, dip), found)
	Label(straight)
	return found
}

func (v vectors) beyond() {
	TEXT("beyond"+v.name, NOSPLIT, "func(x *float64, n int, level float64, over, under, turns *byte)")
	Pragma("noescape")
	Doc("Sets bit i of each mask for i < n, a multiple of 8 and not 0: see Beyond.")
	p := Load(Param("x"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(3), n)
	masks := [3]reg.GPVirtual{
		Load(Param("over"), GP64()).(reg.GPVirtual), Load(Param("under"), GP64()).(reg.GPVirtual),
		Load(Param("turns"), GP64()).(reg.GPVirtual),
	}
	mask, level := v.magnitude(), v.broadcast("level")
	fourth := v.quarter()
	zero := v.zeros(1)[0]
	minus := v.reg()
	VSUBPD(level, zero, minus)
	loop("eight", n, func() {
		var bytes [3]reg.GPVirtual
		for part := range 8 / v.lanes {
			x := v.reg()
			VMOVUPD(operand.Mem{Base: p}, x)
			found := [3]reg.GPVirtual{v.bits(v.compare(less, level, x)), v.bits(v.compare(less, x, minus)), nil}
			before := GP64()
			LEAQ(operand.Mem{Base: p, Disp: -8}, before)
			r := v.around(before, mask, level, fourth)
			found[2] = v.turns(r, zero, fmt.Sprint("straight", part))
			for k := range found {
				if part == 0 {
					bytes[k] = found[k]
					continue
				}
				SHLL(operand.Imm(uint64(part*v.lanes)), found[k])
				ORL(found[k], bytes[k])
			}
			ADDQ(operand.Imm(uint64(8*v.lanes)), p)
		}
		for k, b := range bytes {
			MOVB(b.As8(), operand.Mem{Base: masks[k]})
			INCQ(masks[k])
		}
	})
	v.end()
}

func (v vectors) addBeyond() {
	TEXT("addBeyond"+v.name, NOSPLIT, "func(y, x *float64, n int, level float64)")
	Pragma("noescape")
	Doc("y[i] += x[i] - level where x[i] > level, x[i] + level where x[i] < -level, i < n, a multiple of " +
		"8 and not 0.")
	y, x := Load(Param("y"), GP64()).(reg.GPVirtual), Load(Param("x"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(3), n)
	level, minus := v.broadcast("level"), v.reg()
	VSUBPD(level, v.zeros(1)[0], minus)
	loop("eight", n, func() {
		for i := range 8 / v.lanes {
			s, kept := v.reg(), v.reg()
			VMOVUPD(v.at(x, nil, i), s)
			// Within the levels x - x is 0.
			VMINPD(level, s, kept)
			VMAXPD(minus, kept, kept)
			VSUBPD(kept, s, s)
			VADDPD(v.at(y, nil, i), s, s)
			VMOVUPD(s, v.at(y, nil, i))
		}
		ADDQ(operand.Imm(64), y)
		ADDQ(operand.Imm(64), x)
	})
	v.end()
}

func (v vectors) nonZero() {
	TEXT("nonZero"+v.name, NOSPLIT, "func(x *float64, n int, mask *byte)")
	Pragma("noescape")
	Doc("Sets bit i of mask where x[i] != 0, i < n, a multiple of 8 and not 0.")
	x, mask := Load(Param("x"), GP64()).(reg.GPVirtual), GP64()
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	Load(Param("mask"), mask)
	SHRQ(operand.Imm(3), n)
	zero := v.zeros(1)[0]
	loop("eight", n, func() {
		var all reg.GPVirtual
		for i := range 8 / v.lanes {
			s := v.reg()
			VMOVUPD(v.at(x, nil, i), s)
			b := v.bits(v.compare(notEqual, s, zero))
			if i == 0 {
				all = b
				continue
			}
			SHLL(operand.Imm(uint64(i*v.lanes)), b)
			ORL(b, all)
		}
		MOVB(all.As8(), operand.Mem{Base: mask})
		ADDQ(operand.Imm(64), x)
		INCQ(mask)
	})
	v.end()
}
