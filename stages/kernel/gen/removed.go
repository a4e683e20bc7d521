package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// removed books eight samples at a time, one to a lane, in so many registers. Eight of which none is beyond
// the ceiling, nor too wild for the sums, are booked without looking closer. Unless it is asked for, it does
// not look whether what became of those is too wild: then a sum of what was removed is, too.
func (v vectors) removed(name string, wary bool) {
	TEXT(name+v.name, NOSPLIT, "func(in, out *float64, n int, ceiling, by, wild float64, s *[16]float64) "+
		"(beyond int, deep uint32)")
	Pragma("noescape")
	doc := "See Removed: n is a multiple of 8 and not 0, the first sample is that of the first lanes, and " +
		"deep is 0 where there is none."
	if !wary {
		doc += " Means nothing if a sum of what was removed is beyond 1e190 or no number."
	}
	Doc(doc)
	in, out := Load(Param("in"), GP64()).(reg.GPVirtual), Load(Param("out"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	sums := Load(Param("s"), GP64())
	SHRQ(operand.Imm(3), n)
	mask, calm, wild := v.magnitude(), v.broadcast("ceiling"), v.broadcast("wild")
	VMINPD(wild, calm, calm)
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
		var a, d []reg.VecVirtual
		var wake reg.Register
		for i := range parts {
			x, b, change := v.reg(), v.reg(), v.reg()
			VMOVUPD(v.at(in, nil, i), x)
			w := v.compare(notLessEqual, v.size(x, mask), calm)
			if wary {
				VMOVUPD(v.at(out, nil, i), b)
				VSUBPD(b, x, change)
				w = v.or(w, v.compare(notLessEqual, v.size(b, mask), calm))
			} else {
				VSUBPD(v.at(out, nil, i), x, change)
			}
			a, d = append(a, x), append(d, change)
			if wake != nil {
				w = v.or(wake, w)
			}
			wake = w
		}
		awake := v.bits(wake)
		TESTL(awake, awake)
		JZ(operand.LabelRef("calm"))
		ceiling, wild := v.broadcast("ceiling"), v.broadcast("wild")
		for i := range parts {
			b := v.reg()
			VMOVUPD(v.at(out, nil, i), b)
			size, after := v.size(a[i], mask), v.size(b, mask)
			tame := v.and(v.compare(lessEqual, size, wild), v.compare(lessEqual, after, wild))
			VMOVAPD(v.where(tame, d[i]), d[i])
			VMOVAPD(v.where(tame, a[i]), a[i])
			least := v.broadcast("by")
			VMULPD(least, after, least)
			over := v.compare(less, ceiling, size)
			ORL(v.bits(v.and(over, v.compare(less, least, size))), deep)
			count := v.bits(over)
			POPCNTL(count, count)
			ADDQ(count.As64(), beyond)
		}
		Label("calm")
		for i := range parts {
			VFMADD231PD(d[i], d[i], taken[i])
			VFMADD231PD(a[i], a[i], driven[i])
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
