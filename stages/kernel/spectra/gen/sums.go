package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
)

func sums() {
	begin("sums", "y, x, w *float64, parts *int, n int",
		"y[i] = sum of w*x over the vectors of part i, i < n, not 0; the weights of all parts follow each other. "+
			"No part is without vectors.")
	y, x, w, parts, n := pointer("y"), pointer("x"), pointer("w"), pointer("parts"), pointer("n")
	loop("part", n, func() {
		from, vectors, acc := GP64(), GP64(), YMM()
		MOVQ(operand.Mem{Base: parts}, from)
		MOVQ(operand.Mem{Base: parts, Disp: 8}, vectors)
		LEAQ(operand.Mem{Base: x, Index: from, Scale: 8}, from)
		VXORPD(acc, acc, acc)
		loop("vector", vectors, func() {
			VADDPD(times(load(at(w)), at(from)), acc, acc)
			on(w, from)
		})
		high := XMM()
		VEXTRACTF128(operand.Imm(1), acc, high)
		VADDPD(high, acc.AsX(), high) // 0 and 2, 1 and 3
		other := XMM()
		VUNPCKHPD(high, high, other)
		VADDSD(other, high, high)
		VMOVSD(high, at(y))
		ADDQ(operand.Imm(8), y)
		ADDQ(operand.Imm(16), parts)
	})
	end()
}

func differ() {
	const notEqual = 4 // or not a number
	begin("differ", "x, y *float64, n int) (differ uint32",
		"Whether any x[i] != y[i], i < n, a multiple of 16 and not 0.")
	x, y, n := pointer("x"), pointer("y"), pointer("n")
	SHRQ(operand.Imm(4), n)
	bits := GP32()
	loop("sixteen", n, func() {
		any := YMM()
		VMOVUPD(at(x), any)
		VCMPPD(operand.U8(notEqual), at(y), any, any)
		for i := 1; i < 4; i++ {
			m := load(operand.Mem{Base: x, Disp: 32 * i})
			VCMPPD(operand.U8(notEqual), operand.Mem{Base: y, Disp: 32 * i}, m, m)
			VORPD(m, any, any)
		}
		VMOVMSKPD(any, bits)
		TESTL(bits, bits)
		JNZ(operand.LabelRef("found"))
		ADDQ(operand.U32(128), x)
		ADDQ(operand.U32(128), y)
	})
	Label("found")
	Store(bits, ReturnIndex(0))
	end()
}
