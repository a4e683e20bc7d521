package main

import (
	"encoding/binary"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// Samples of 24 bits are too narrow for wider registers to pay: these are for AVX2 only.

const none = 0x80 // in a shuffle: a byte of zeros

func decode24() {
	TEXT("decode24AVX2", NOSPLIT, "func(a, b *float64, n int, src *byte)")
	Pragma("noescape")
	Doc("See Decode24: n is a multiple of 4 and not 0.")
	a, b := Load(Param("a"), GP64()).(reg.GPVirtual), Load(Param("b"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	src := Load(Param("src"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(2), n)
	// a0 a1 b0 b1 of the first two frames, a2 a3 b2 b3 of the last 16 of the 24 bytes.
	order := bytes(
		[16]byte{none, 0, 1, 2, none, 6, 7, 8, none, 3, 4, 5, none, 9, 10, 11},
		[16]byte{none, 4, 5, 6, none, 10, 11, 12, none, 7, 8, 9, none, 13, 14, 15})
	scale := avx2.constant(0x1p-31)
	loop("four", n, func() {
		w, x, y, upper := YMM(), YMM(), YMM(), XMM()
		VMOVDQU(operand.Mem{Base: src}, w.AsX())
		VINSERTI128(operand.Imm(1), operand.Mem{Base: src, Disp: 8}, w, w)
		VPSHUFB(order, w, w)
		VPERMQ(operand.Imm(0xd8), w, w)
		VEXTRACTI128(operand.Imm(1), w, upper)
		VCVTDQ2PD(w.AsX(), x)
		VCVTDQ2PD(upper, y)
		VMULPD(scale, x, x)
		VMULPD(scale, y, y)
		VMOVUPD(x, operand.Mem{Base: a})
		VMOVUPD(y, operand.Mem{Base: b})
		ADDQ(operand.Imm(32), a)
		ADDQ(operand.Imm(32), b)
		ADDQ(operand.Imm(24), src)
	})
	avx2.end()
}

func encode24() {
	TEXT("encode24AVX2", NOSPLIT, "func(dst *byte, a, b *float64, n int) int")
	Pragma("noescape")
	Doc("See Encode24: four frames at a time, n is a multiple of 4 and not 0.")
	dst := Load(Param("dst"), GP64()).(reg.GPVirtual)
	a, b := Load(Param("a"), GP64()).(reg.GPVirtual), Load(Param("b"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	pack := [16]byte{0, 1, 2, 8, 9, 10, 4, 5, 6, 12, 13, 14, none, none, none, none}
	order, scale := bytes(pack, pack), avx2.constant(0x1p23)
	i := GP64()
	XORQ(i, i)
	Label("next")
	x, y, codes, other := YMM(), YMM(), YMM(), XMM()
	VMULPD(avx2.at(a, i, 0), scale, x)
	VMULPD(avx2.at(b, i, 0), scale, y)
	// Codes beyond 32 bits, and what is no number, become -2^31.
	VCVTPD2DQY(x, codes.AsX())
	VCVTPD2DQY(y, other)
	VINSERTI128(operand.Imm(1), other, codes, codes)
	// A code of 24 bits is what is left when its upper eight are made of its sign.
	short, set := YMM(), GP32()
	VPSLLD(operand.Imm(8), codes, short)
	VPSRAD(operand.Imm(8), short, short)
	VPCMPEQD(codes, short, short)
	VPMOVMSKB(short, set)
	CMPL(set, operand.I32(-1))
	JNE(operand.LabelRef("end"))
	VPERMQ(operand.Imm(0xd8), codes, codes)
	VPSHUFB(order, codes, codes)
	VEXTRACTI128(operand.Imm(1), codes, other)
	VMOVDQU(codes.AsX(), operand.Mem{Base: dst})
	VMOVQ(other, operand.Mem{Base: dst, Disp: 12})
	VPEXTRD(operand.Imm(2), other, operand.Mem{Base: dst, Disp: 20})
	ADDQ(operand.Imm(24), dst)
	ADDQ(operand.Imm(4), i)
	CMPQ(i, n)
	JLT(operand.LabelRef("next"))
	Label("end")
	Store(i, ReturnIndex(0))
	avx2.end()
}

// bytes is a register of the bytes of both halves.
func bytes(low, high [16]byte) reg.VecVirtual {
	r := YMM()
	upper, g := XMM(), GP64()
	for _, half := range []struct {
		of [16]byte
		to reg.Register
	}{{low, r.AsX()}, {high, upper}} {
		MOVQ(operand.U64(binary.LittleEndian.Uint64(half.of[:8])), g)
		VMOVQ(g, half.to)
		MOVQ(operand.U64(binary.LittleEndian.Uint64(half.of[8:])), g)
		VPINSRQ(operand.Imm(1), g, half.to, half.to)
	}
	VINSERTI128(operand.Imm(1), upper, r, r)
	return r
}
