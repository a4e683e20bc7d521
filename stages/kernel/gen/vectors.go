package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// vectors is one width of registers.
type vectors struct {
	name  string // suffix of the functions
	lanes int    // float64s in a register
	reg   func() reg.VecVirtual
}

var (
	avx512 = vectors{"AVX512", 8, ZMM}
	avx2   = vectors{"AVX2", 4, YMM}
)

// some is n registers of zeros.
func (v vectors) zeros(n int) []reg.VecVirtual {
	r := make([]reg.VecVirtual, n)
	for i := range r {
		r[i] = v.reg()
		if v.lanes == 8 {
			VPXORQ(r[i], r[i], r[i])
		} else {
			VXORPD(r[i], r[i], r[i])
		}
	}
	return r
}

// at is the i-th vector behind a pointer, index elements further.
func (v vectors) at(base, index reg.Register, i int) operand.Mem {
	m := operand.Mem{Base: base, Disp: 8 * v.lanes * i}
	if index != nil {
		m.Index, m.Scale = index, 8
	}
	return m
}

// loop runs body n times, n > 0.
func loop(label string, n reg.GPVirtual, body func()) {
	Label(label)
	body()
	DECQ(n)
	JNZ(operand.LabelRef(label))
}
