package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// The sizes of the tables of Meeting, in values.
const (
	nodes  = 16 // from one value to the next
	points = 12
	powers = 8
)

func (v vectors) meet() {
	TEXT("meet"+v.name, NOSPLIT, "func(t, y *float64, level float64, m *[6]float64)")
	Pragma("noescape")
	Doc("See meetGeneric.")
	t, y := Load(Param("t"), GP64()), Load(Param("y"), GP64())
	level := Load(Param("level"), XMM()).(reg.VecVirtual)
	value := func(j int) operand.Mem { return operand.Mem{Base: y, Disp: 8 * j} }

	// Where the parabola through four values, by its step from the chord, meets the level.
	a, r, bend, x := XMM(), XMM(), XMM(), XMM()
	VMOVSD(value(5), a)
	VMOVSD(value(6), r)
	VADDSD(r, a, bend)
	VSUBSD(r, a, r)
	VSUBSD(level, a, a)
	one := XMM()
	VMOVSD(scalar(1), one)
	VDIVSD(r, one, r)
	VMULSD(r, a, x)
	outer, rest := XMM(), XMM()
	VMOVSD(value(4), outer)
	VADDSD(value(7), outer, outer)
	VSUBSD(bend, outer, bend)
	VMULSD(scalar(0.25), bend, bend)
	VMULSD(r, bend, bend)
	VSUBSD(one, x, rest)
	VMULSD(x, rest, rest)
	VFMADD231SD(rest, bend, x)
	zero := XMM()
	VXORPD(zero, zero, zero)
	VMAXSD(zero, x, x)
	VMINSD(one, x, x)
	node := GP64()
	VMULSD(scalar(nodes), x, x)
	VADDSD(scalar(0.5), x, x)
	VCVTTSD2SIQ(x, node)
	at := XMM()
	VXORPD(at, at, at)
	VCVTSI2SDQ(node, at, at)

	// The curve's coefficients there.
	IMUL3Q(operand.U32(points*powers*8), node, node)
	ADDQ(node, t)
	parts := powers / v.lanes
	even, odd := v.zeros(parts), v.zeros(parts)
	for j := 0; j < points; j += 2 {
		for k, acc := range [2][]reg.VecVirtual{even, odd} {
			s := v.reg()
			VBROADCASTSD(value(j+k), s)
			for i := range acc {
				VFMADD231PD(v.at(t, nil, parts*(j+k)+i), s, acc[i])
			}
		}
	}
	found := v.scratch(powers * 8) // aligned, or what is stored at once would be slow to load in parts
	for i := range even {
		VADDPD(odd[i], even[i], even[i])
		VMOVUPD(even[i], v.at(found, nil, i))
	}
	c := func(d int) operand.Mem { return operand.Mem{Base: found, Disp: 8 * d} }

	// From the node to the level, and once more from there.
	c0, c1, c2, c3 := XMM(), XMM(), XMM(), XMM()
	for d, p := range []reg.VecVirtual{c0, c1, c2, c3} {
		VMOVSD(c(d), p)
	}
	VSUBSD(level, c0, c0)
	x = revert(one, c0, c1, c2, c3)
	VSUBSD(x, zero, x)
	value0, d1, d2, d3 := XMM(), XMM(), XMM(), XMM()
	VMOVSD(c(powers-1), value0)
	derive([]reg.VecVirtual{value0, d1, d2, d3}, x, c)
	VSUBSD(level, value0, value0)
	back := revert(one, value0, d1, d2, d3)
	d4 := XMM()
	VMULSD(scalar(5), x, d4)
	VMULSD(c(5), d4, d4)
	VADDSD(c(4), d4, d4)
	VSUBSD(back, x, x)

	// Along that last step.
	three := XMM()
	VMULSD(scalar(3), d3, three)
	along := XMM()
	VMOVAPD(d2, along)
	VADDSD(along, along, along)
	VFNMADD231SD(back, three, along)
	VFNMADD231SD(back, along, d1)
	VFNMADD231SD(back, three, d2)
	VMULSD(scalar(4), d4, d4)
	VFNMADD231SD(back, d4, d3)
	VADDSD(d2, d2, d2)
	VMULSD(scalar(6), d3, d3)

	out := Load(Param("m"), GP64())
	VFMADD132SD(scalar(1.0/nodes), x, at)
	for i, p := range []reg.VecVirtual{at, d1, d2, d3, x, back} {
		VMOVSD(p, operand.Mem{Base: out, Disp: 8 * i})
	}
	v.end()
}

// revert is how far back from 0 the cubic v + c1 x + c2 x^2 + c3 x^3 is 0.
func revert(one operand.Op, v, c1, c2, c3 reg.VecVirtual) reg.VecVirtual {
	r, s, a, b, twice := XMM(), XMM(), XMM(), XMM(), XMM()
	VDIVSD(c1, one, r)
	VMULSD(r, v, s)
	VMULSD(r, c2, a)
	VMULSD(r, c3, b)
	VADDSD(a, a, twice)
	VFMSUB213SD(b, a, twice) // 2aa - b
	VFMADD213SD(a, s, twice)
	VFMADD213SD(one, s, twice)
	VMULSD(s, twice, s)
	return s
}

func (v vectors) addCorner() {
	TEXT("addCorner"+v.name, NOSPLIT, "func(y *[16]float64, a, b, c *[4][16]float64, w *[12]float64)")
	Pragma("noescape")
	Doc("See addCornerGeneric.")
	y := Load(Param("y"), GP64())
	rows := [3]reg.Register{Load(Param("a"), GP64()), Load(Param("b"), GP64()), Load(Param("c"), GP64())}
	w := Load(Param("w"), GP64())
	parts := 16 / v.lanes
	sums := [2][]reg.VecVirtual{v.zeros(parts), v.zeros(parts)}
	for k := range 12 {
		s := v.reg()
		VBROADCASTSD(operand.Mem{Base: w, Disp: 8 * k}, s)
		for i, a := range sums[k%2] {
			VFMADD231PD(operand.Mem{Base: rows[k/4], Disp: 128*(k%4) + 8*v.lanes*i}, s, a)
		}
	}
	for i, a := range sums[0] {
		VADDPD(sums[1][i], a, a)
		VADDPD(v.at(y, nil, i), a, a)
		VMOVUPD(a, v.at(y, nil, i))
	}
	v.end()
}
