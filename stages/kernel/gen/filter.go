package main

import (
	"fmt"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

func (v vectors) filter() {
	TEXT("filter"+v.name, NOSPLIT, "func(y, x, taps *float64, n, groups int)")
	Pragma("noescape")
	Doc("y[i] = sum over m < n of taps[m] * x[i+m], i < 32*groups, n > 0, in the order of Filter.Apply.")
	y, x := Load(Param("y"), GP64()).(reg.GPVirtual), Load(Param("x"), GP64()).(reg.GPVirtual)
	taps := Load(Param("taps"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	groups := Load(Param("groups"), GP64()).(reg.GPVirtual)
	if v.lanes == 8 {
		v.filterGroups(2, y, x, taps, n, groups)
	}
	v.filterGroups(1, y, x, taps, n, groups)
	v.end()
}

// filterGroups computes so many groups at once while there are as many left: the more,
// the fewer vectors of x are loaded for each value. Two sums of four vectors, or of eight, are as
// many as hide the latency of a fused multiply-add.
func (v vectors) filterGroups(at int, y, x, taps, n, groups reg.GPVirtual) {
	more, done := fmt.Sprint("groups", at), fmt.Sprint("fewer", at)
	SUBQ(operand.Imm(uint64(at)), groups)
	JLT(operand.LabelRef(done))
	Label(more)
	for half := range 8 / v.lanes {
		v.filterSums(fmt.Sprint(at, "x", half), 4*at, 8*v.lanes*half, y, x, taps, n)
	}
	ADDQ(operand.U32(256*at), x)
	ADDQ(operand.U32(256*at), y)
	SUBQ(operand.Imm(uint64(at)), groups)
	JGE(operand.LabelRef(more))
	Label(done)
	ADDQ(operand.Imm(uint64(at)), groups)
}

// filterSums sums so many vectors, eight values apart, the first of them so many bytes after y.
func (v vectors) filterSums(name string, sums, from int, y, x, taps, n reg.GPVirtual) {
	acc := [2][]reg.VecVirtual{v.zeros(sums), v.zeros(sums)}
	at, tap, steps, rest, end := GP64(), GP64(), GP64(), GP64(), GP64()
	LEAQ(operand.Mem{Base: x, Disp: from}, at)
	MOVQ(taps, tap)
	LEAQ(operand.Mem{Base: taps, Disp: 64}, end)
	MOVQ(n, steps)
	SHRQ(operand.Imm(3), steps)
	JZ(operand.LabelRef("few" + name))
	MOVQ(steps, rest)
	ANDQ(operand.Imm(uint64(sums-1)), rest)
	SUBQ(rest, steps)
	SHLQ(operand.Imm(6), steps)
	Label("class" + name)
	v.filterClass(name, acc, at, tap, steps, rest)
	ADDQ(operand.Imm(8), at)
	ADDQ(operand.Imm(8), tap)
	CMPQ(tap, end)
	JLT(operand.LabelRef("class" + name))
	Label("few" + name)
	v.filterLast(name, acc[0], from, x, taps, n)
	for i, a := range acc[0] {
		VADDPD(acc[1][i], a, a)
		VMOVUPD(a, operand.Mem{Base: y, Disp: 64*i + from})
	}
}

// filterClass adds what the taps eight apart from one on make of x: whole rounds, of so
// many bytes, and so many taps more. Each tap meets the vectors of x that the last one met, but for
// one more. So each vector, most of which lie across two lines of the cache, is loaded once, and the
// window of them in the registers goes round.
func (v vectors) filterClass(name string, acc [2][]reg.VecVirtual, at, tap, bytes, rest reg.GPVirtual) {
	sums := len(acc[0])
	window := make([]reg.VecVirtual, sums)
	for i := range window {
		window[i] = v.reg()
	}
	for i := range sums - 1 {
		VMOVUPD(operand.Mem{Base: at, Disp: 64 * i}, window[i])
	}
	index := GP64()
	step := func(s int) {
		newest := (s + sums - 1) % sums
		VMOVUPD(operand.Mem{Base: at, Index: index, Scale: 1, Disp: 64 * (s + sums - 1)}, window[newest])
		h := v.reg()
		VBROADCASTSD(operand.Mem{Base: tap, Index: index, Scale: 1, Disp: 64 * s}, h)
		for i, a := range acc[s%2] {
			VFMADD231PD(window[(s+i)%sums], h, a)
		}
	}
	XORQ(index, index)
	TESTQ(bytes, bytes)
	JZ(operand.LabelRef("rest" + name))
	Label("round" + name)
	for s := range sums {
		step(s)
	}
	ADDQ(operand.I32(64*sums), index)
	CMPQ(index, bytes)
	JLT(operand.LabelRef("round" + name))
	Label("rest" + name)
	for s := range sums - 1 {
		CMPQ(rest, operand.Imm(uint64(s)))
		JEQ(operand.LabelRef("next" + name))
		step(s)
	}
	Label("next" + name)
}

// filterLast adds what the taps after the whole eights make of x.
func (v vectors) filterLast(name string, acc []reg.VecVirtual, from int, x, taps, n reg.GPVirtual) {
	m := GP64()
	MOVQ(n, m)
	ANDQ(operand.I32(-8), m)
	JMP(operand.LabelRef("last" + name))
	Label("one" + name)
	h := v.reg()
	VBROADCASTSD(operand.Mem{Base: taps, Index: m, Scale: 8}, h)
	for i, a := range acc {
		VFMADD231PD(operand.Mem{Base: x, Index: m, Scale: 8, Disp: 64*i + from}, h, a)
	}
	INCQ(m)
	Label("last" + name)
	CMPQ(m, n)
	JLT(operand.LabelRef("one" + name))
}
