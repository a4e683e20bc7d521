package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// Where the arrays of Meetings begin, in bytes.
const (
	meetAt    = 0
	meetLevel = 64
	meetFound = 128
)

// meet8 is meet for eight places, one to a lane, with the same arithmetic in the same order. Only the curve's
// coefficients, for which each place has a table of its own, are made place by place.
func meet8() {
	v := avx512
	TEXT("meet8AVX512", NOSPLIT, "func(t, x *float64, m *[8]int)")
	Pragma("noescape")
	Doc("See Meetings.")
	t, base, m := Load(Param("t"), GP64()), Load(Param("x"), GP64()), Load(Param("m"), GP64())
	ats := ZMM()
	VMOVUPD(operand.Mem{Base: m, Disp: meetAt}, ats)
	value := func(d int) reg.VecVirtual {
		k, r := K(), ZMM()
		KXNORB(k, k, k)
		VXORPD(r, r, r)
		VGATHERQPD(operand.Mem{Base: base, Index: ats, Scale: 8, Disp: 8 * (d - 5)}, k, r)
		return r
	}
	all := func(c float64) reg.VecVirtual {
		r := ZMM()
		VBROADCASTSD(scalar(c), r)
		return r
	}
	level := ZMM()
	VMOVUPD(operand.Mem{Base: m, Disp: meetLevel}, level)
	one, zero := all(1), v.zeros(1)[0]

	// Where the parabola through four values, by its step from the chord, meets the level.
	a, r, bend, x := value(5), value(6), ZMM(), ZMM()
	VADDPD(r, a, bend)
	VSUBPD(r, a, r)
	VSUBPD(level, a, a)
	VDIVPD(r, one, r)
	VMULPD(r, a, x)
	outer, rest := value(4), ZMM()
	VADDPD(value(7), outer, outer)
	VSUBPD(bend, outer, bend)
	VMULPD(all(0.25), bend, bend)
	VMULPD(r, bend, bend)
	VSUBPD(one, x, rest)
	VMULPD(x, rest, rest)
	VFMADD231PD(rest, bend, x)
	VMAXPD(zero, x, x)
	VMINPD(one, x, x)
	nodes8 := ZMM()
	VMULPD(all(nodes), x, x)
	VADDPD(all(0.5), x, x)
	VCVTTPD2QQ(x, nodes8)
	at := ZMM()
	VCVTQQ2PD(nodes8, at)
	kept := v.scratch(64)
	VMOVDQU64(nodes8, operand.Mem{Base: kept})

	// The curves' coefficients there.
	rows := make([]reg.VecVirtual, 8)
	for i := range rows {
		node, place := GP64(), GP64()
		MOVQ(operand.Mem{Base: kept, Disp: 8 * i}, node)
		IMUL3Q(operand.U32(points*powers*8), node, node)
		ADDQ(t, node)
		MOVQ(operand.Mem{Base: m, Disp: meetAt + 8*i}, place)
		LEAQ(operand.Mem{Base: base, Index: place, Scale: 8}, place)
		even, odd := ZMM(), ZMM()
		VXORPD(even, even, even)
		VXORPD(odd, odd, odd)
		for j := 0; j < points; j += 2 {
			for k, acc := range []reg.VecVirtual{even, odd} {
				s := ZMM()
				VBROADCASTSD(operand.Mem{Base: place, Disp: 8 * (j + k - 5)}, s)
				VFMADD231PD(v.at(node, nil, j+k), s, acc)
			}
		}
		VADDPD(odd, even, even)
		rows[i] = even
	}
	c := transpose(rows)

	// From the node to the level, and once more from there.
	c0 := ZMM()
	VSUBPD(level, c[0], c0)
	x = revert8(one, c0, c[1], c[2], c[3])
	VSUBPD(x, zero, x)
	value0, d1, d2, d3 := ZMM(), ZMM(), ZMM(), ZMM()
	VMOVAPD(c[powers-1], value0)
	sums := []reg.VecVirtual{value0, d1, d2, d3}
	for d := powers - 2; d >= 0; d-- {
		for k := min(len(sums)-1, powers-1-d); k > 0; k-- {
			if powers-1-d == k {
				VMOVAPD(sums[k-1], sums[k])
			} else {
				VFMADD213PD(sums[k-1], x, sums[k])
			}
		}
		VFMADD213PD(c[d], x, sums[0])
	}
	VSUBPD(level, value0, value0)
	back := revert8(one, value0, d1, d2, d3)
	d4 := ZMM()
	VMULPD(all(5), x, d4)
	VMULPD(c[5], d4, d4)
	VADDPD(c[4], d4, d4)
	VSUBPD(back, x, x)
	// Along that last step.
	three, along := ZMM(), ZMM()
	VMULPD(all(3), d3, three)
	VADDPD(d2, d2, along)
	VFNMADD231PD(back, three, along)
	VFNMADD231PD(back, along, d1)
	VFNMADD231PD(back, three, d2)
	VMULPD(all(4), d4, d4)
	VFNMADD231PD(back, d4, d3)
	VADDPD(d2, d2, d2)
	VMULPD(all(6), d3, d3)
	VFMADD132PD(all(1.0/nodes), x, at)
	for i, p := range []reg.VecVirtual{at, d1, d2, d3, x, back} {
		VMOVUPD(p, operand.Mem{Base: m, Disp: meetFound + 64*i})
	}
	v.end()
}

// revert8 is revert in eight lanes.
func revert8(one operand.Op, v, c1, c2, c3 reg.VecVirtual) reg.VecVirtual {
	r, s, a, b, twice := ZMM(), ZMM(), ZMM(), ZMM(), ZMM()
	VDIVPD(c1, one, r)
	VMULPD(r, v, s)
	VMULPD(r, c2, a)
	VMULPD(r, c3, b)
	VADDPD(a, a, twice)
	VFMSUB213PD(b, a, twice)
	VFMADD213PD(a, s, twice)
	VFMADD213PD(one, s, twice)
	VMULPD(s, twice, s)
	return s
}

// transpose makes of eight rows eight columns.
func transpose(rows []reg.VecVirtual) []reg.VecVirtual {
	c := make([]reg.VecVirtual, 8)
	for odd := range 2 {
		var pairs [4]reg.VecVirtual
		for i := range pairs {
			pairs[i] = ZMM()
			if odd == 0 {
				VUNPCKLPD(rows[2*i+1], rows[2*i], pairs[i])
			} else {
				VUNPCKHPD(rows[2*i+1], rows[2*i], pairs[i])
			}
		}
		var halves [2][2]reg.VecVirtual
		for i := range halves {
			for k := range 2 {
				halves[i][k] = ZMM()
				VSHUFF64X2(operand.U8([]uint8{0x88, 0xdd}[k]), pairs[2*i+1], pairs[2*i], halves[i][k])
			}
		}
		for k := range 2 {
			for h := range 2 {
				r := ZMM()
				VSHUFF64X2(operand.U8([]uint8{0x88, 0xdd}[h]), halves[1][k], halves[0][k], r)
				c[4*h+2*k+odd] = r
			}
		}
	}
	return c
}
