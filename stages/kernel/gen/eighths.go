package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// The tables of Eighths, in bytes from its first.
const odds = 6 * 4 * 8

func (v vectors) mayPass() {
	TEXT("mayPass"+v.name, NOSPLIT, "func(u *[19]float64, e *[4]float64, limit float64) uint32")
	Pragma("noescape")
	Doc("Bit h: the largest magnitude of u[5+h], the seven values after it and u[6+h], and an eighth of the " +
		"largest step among them, are > limit.")
	u, e := Load(Param("u"), GP64()), Load(Param("e"), GP64())
	limit := v.broadcast("limit")
	var set reg.GPVirtual
	mask, eighth := v.magnitude(), v.constant(0.125)
	for part := range 8 / v.lanes {
		even, odd := v.zeros(4), v.zeros(3)
		for i := range 6 {
			before, behind, minus := v.reg(), v.reg(), v.reg()
			VMOVUPD(back(v.at(u, nil, part), i-5), before)
			VMOVUPD(back(v.at(u, nil, part), -6-i), behind)
			VSUBPD(behind, before, minus)
			VADDPD(behind, before, before)
			for p := range 4 {
				v.addScaledBy(operand.Mem{Base: e, Disp: 32*i + 8*p}, before, even[p])
				if p < 3 {
					v.addScaledBy(operand.Mem{Base: e, Disp: odds + 32*i + 8*p}, minus, odd[p])
				}
			}
		}
		last := v.reg()
		VMOVUPD(back(v.at(u, nil, part), -5), last)
		top, step := v.size(last, mask), v.zeros(1)[0]
		to := func(point reg.VecVirtual) {
			d := v.reg()
			VSUBPD(last, point, d)
			v.top(d, step, mask)
			VMOVAPD(point, last)
			v.top(point, top, mask)
		}
		for p := range 3 {
			sum := v.reg()
			VADDPD(odd[p], even[p], sum)
			to(sum)
		}
		to(even[3])
		for p := 2; p >= 0; p-- {
			difference := v.reg()
			VSUBPD(odd[p], even[p], difference)
			to(difference)
		}
		end := v.reg()
		VMOVUPD(back(v.at(u, nil, part), -6), end)
		to(end)
		VFMADD231PD(eighth, step, top)
		bits := v.bits(v.compare(less, limit, top))
		if part == 0 {
			set = bits
			continue
		}
		SHLL(operand.U8(v.lanes), bits)
		ORL(bits, set)
	}
	Store(set, ReturnIndex(0))
	v.end()
}

// addScaledBy adds a times the value at m to acc.
func (v vectors) addScaledBy(m operand.Mem, a, acc reg.VecVirtual) {
	if v.lanes == 8 {
		VFMADD231PD_BCST(m, a, acc)
		return
	}
	h := v.reg()
	VBROADCASTSD(m, h)
	VFMADD231PD(h, a, acc)
}
