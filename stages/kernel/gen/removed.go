package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// removed books eight samples at a time, one to a lane, in so many registers.
func (v vectors) removed() {
	TEXT("removed"+v.name, NOSPLIT, "func(in, out *float64, n int, ceiling, by, wild float64, s *[16]float64) "+
		"(beyond int, deep uint32)")
	Pragma("noescape")
	Doc("See Removed: n is a multiple of 8 and not 0, the first sample is that of the first lanes, and deep " +
		"is 0 where there is none.")
	in, out := Load(Param("in"), GP64()).(reg.GPVirtual), Load(Param("out"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	sums := Load(Param("s"), GP64())
	SHRQ(operand.Imm(3), n)
	mask, ceiling, by, wild := v.magnitude(), v.broadcast("ceiling"), v.broadcast("by"), v.broadcast("wild")
	parts := 8 / v.lanes
	var taken, driven []reg.VecVirtual
	for i := range parts {
		t, d := v.reg(), v.reg()
		VMOVUPD(v.at(sums, nil, i), t)
		VMOVUPD(v.at(sums, nil, parts+i), d)
		taken, driven = append(taken, t), append(driven, d)
	}
	beyond, deep := GP64(), GP32()
	XORQ(beyond, beyond)
	XORL(deep, deep)
	loop("eight", n, func() {
		for i := range parts {
			a, b, d := v.reg(), v.reg(), v.reg()
			VMOVUPD(v.at(in, nil, i), a)
			VMOVUPD(v.at(out, nil, i), b)
			VSUBPD(b, a, d)
			size, after := v.size(a, mask), v.size(b, mask)
			over, least := v.compare(less, ceiling, size), v.reg()
			VMULPD(by, after, least)
			ORL(v.bits(v.and(over, v.compare(less, least, size))), deep)
			count := v.bits(over)
			POPCNTL(count, count)
			ADDQ(count.As64(), beyond)
			tame := v.and(v.compare(lessEqual, size, wild), v.compare(lessEqual, after, wild))
			d, a = v.where(tame, d), v.where(tame, a)
			VFMADD231PD(d, d, taken[i])
			VFMADD231PD(a, a, driven[i])
		}
		ADDQ(operand.Imm(64), in)
		ADDQ(operand.Imm(64), out)
	})
	for i := range parts {
		VMOVUPD(taken[i], v.at(sums, nil, i))
		VMOVUPD(driven[i], v.at(sums, nil, parts+i))
	}
	Store(beyond, ReturnIndex(0))
	Store(deep, ReturnIndex(1))
	v.end()
}
