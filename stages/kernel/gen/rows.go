package main

import (
	"fmt"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// most is how many sums rows makes at once: as many as there are registers for, so that each tap is loaded
// once for all of them.
const most = 6

// rows has AVX2 only: with wider registers there are no more loads in a cycle.
func rows() {
	TEXT("rowsAVX2", NOSPLIT, "func(y *float64, step int, x *float64, hop int, h *float64, taps, n int)")
	Pragma("noescape")
	Doc("y[step*j] = sum over m < taps of h[m] * x[hop*j+m], j < n, in the order of Row; taps is a multiple " +
		"of 8, it and n are not 0.")
	r := rowing{}
	for _, p := range []struct {
		name string
		to   *reg.GPVirtual
	}{
		{"y", &r.y}, {"step", &r.step}, {"x", &r.x}, {"hop", &r.hop}, {"h", &r.h}, {"taps", &r.taps}, {"n", &r.n},
	} {
		*p.to = Load(Param(p.name), GP64()).(reg.GPVirtual)
	}
	SHLQ(operand.Imm(3), r.step)
	SHLQ(operand.Imm(3), r.hop)
	r.hop3, r.hop5 = GP64(), GP64()
	LEAQ(operand.Mem{Base: r.hop, Index: r.hop, Scale: 2}, r.hop3)
	LEAQ(operand.Mem{Base: r.hop, Index: r.hop, Scale: 4}, r.hop5)
	Label("full")
	CMPQ(r.n, operand.Imm(most))
	JLT(operand.LabelRef("rest"))
	r.sums(most)
	JMP(operand.LabelRef("full"))
	Label("rest")
	for n := most - 1; n > 0; n-- {
		CMPQ(r.n, operand.Imm(uint64(n)))
		JNE(operand.LabelRef(fmt.Sprint("not", n)))
		r.sums(n)
		JMP(operand.LabelRef("end"))
		Label(fmt.Sprint("not", n))
	}
	Label("end")
	VZEROUPPER()
	RET()
}

// rowing is what the sums need.
type rowing struct{ y, x, h, step, hop, hop3, hop5, taps, n reg.GPVirtual }

// sums makes so many sums at once, and moves on past them.
func (r *rowing) sums(many int) {
	at, tap, left := GP64(), GP64(), GP64()
	MOVQ(r.x, at)
	MOVQ(r.h, tap)
	MOVQ(r.taps, left)
	SHRQ(operand.Imm(3), left)
	var acc [2][]reg.VecVirtual
	for half := range acc {
		acc[half] = avx2.zeros(many)
	}
	from := []operand.Mem{
		{Base: at}, {Base: at, Index: r.hop, Scale: 1}, {Base: at, Index: r.hop, Scale: 2},
		{Base: at, Index: r.hop3, Scale: 1}, {Base: at, Index: r.hop, Scale: 4}, {
			Base: at, Index: r.hop5, Scale: 1,
		},
	}
	loop(fmt.Sprint("taps", many), left, func() {
		for half := range acc {
			h := YMM()
			VMOVUPD(operand.Mem{Base: tap, Disp: 32 * half}, h)
			for j := range many {
				VFMADD231PD(from[j].Offset(32*half), h, acc[half][j])
			}
		}
		ADDQ(operand.Imm(64), at)
		ADDQ(operand.Imm(64), tap)
	})
	for j := range many {
		s, high := acc[0][j], XMM()
		VADDPD(acc[1][j], s, s)
		VEXTRACTF128(operand.Imm(1), s, high)
		low := s.AsX()
		VADDPD(high, low, low)
		VUNPCKHPD(low, low, high)
		VADDSD(high, low, low)
		VMOVSD(low, operand.Mem{Base: r.y})
		ADDQ(r.step, r.y)
		ADDQ(r.hop, r.x)
	}
	SUBQ(operand.Imm(uint64(many)), r.n)
}
