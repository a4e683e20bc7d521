package main

import (
	"fmt"
	"math"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// Of the four hills in lanes, as in package kernel.
const (
	hillTerms  = 12
	hillPairs  = 11
	hillPlaces = 6
	hillStride = 0.25
	hillTurns  = 20
	hillNear   = 1e-5
	hillReach  = 0.5
	hillClimbs = 4
	hillStep   = 3e-4
)

// The fields after the coefficients, in the order in which they are stored.
const (
	hillX = hillTerms + iota
	hillHeight
	hillBend
	hillLast
	hillLevel
	hillDown                 // before and after
	hillRises = hillDown + 2 // before and after
)

// A hills is four hills in memory.
type hillsAt struct{ base reg.Register }

func (h hillsAt) field(i int) operand.Mem { return operand.Mem{Base: h.base, Disp: 32 * i} }

func (h hillsAt) load(i int) reg.VecVirtual {
	r := YMM()
	VMOVUPD(h.field(i), r)
	return r
}

// everywhere is a constant in all lanes.
func everywhere(c float64) reg.VecVirtual {
	r := YMM()
	VBROADCASTSD(scalar(c), r)
	return r
}

// hillFind has AVX2 only: there are four lanes.
func hillFind() {
	TEXT("hillFindAVX2", NOSPLIT, "func(y *float64, tables *[2][11][12]float64, places *[4]int, h *[84]float64)")
	Pragma("noescape")
	Doc("See hillFindGeneric.")
	y, tables := Load(Param("y"), GP64()), Load(Param("tables"), GP64())
	places := Load(Param("places"), GP64()).(reg.GPVirtual)
	h := hillsAt{Load(Param("h"), GP64())}
	hillSums(y, tables, places, h)
	hillTops(h)
	avx2.end()
}

// hillSums makes the coefficients, of two hills at a time: more do not go into the registers.
func hillSums(y, tables reg.Register, places reg.GPVirtual, h hillsAt) {
	const half = hillTerms / 4
	to, left := GP64(), GP64()
	MOVQ(h.base, to)
	MOVQ(operand.U32(2), left)
	Label("two")
	var before, after, rows [2]reg.GPVirtual
	for i := range before {
		before[i], after[i], rows[i] = GP64(), GP64(), GP64()
		at, odd := GP64(), GP64()
		MOVQ(operand.Mem{Base: places, Disp: 8 * i}, at)
		MOVQ(at, odd)
		ANDQ(operand.Imm(1), odd)
		SARQ(operand.Imm(1), at)
		LEAQ(operand.Mem{Base: y, Index: at, Scale: 8}, before[i])
		LEAQ(operand.Mem{Base: before[i], Index: odd, Scale: 8}, after[i])
		IMUL3Q(operand.U32(hillPairs*hillTerms*8), odd, odd)
		LEAQ(operand.Mem{Base: tables, Index: odd, Scale: 1}, rows[i])
	}
	acc := avx2.zeros(2 * half)
	for k := range hillPairs {
		for i := range before {
			a, both := YMM(), YMM()
			VBROADCASTSD(operand.Mem{Base: after[i], Disp: 8 * k}, both)
			VBROADCASTSD(operand.Mem{Base: before[i], Disp: -8 * k}, a)
			VADDSUBPD(a, both, both) // the difference and the sum, in turn
			for p := range half {
				VFMADD231PD(avx2.at(rows[i], nil, k*half+p), both, acc[i*half+p])
			}
		}
	}
	// In turn those of an odd power and those of the even one before it.
	for p := range half {
		first, second := acc[p], acc[half+p]
		odd, even := YMM(), YMM()
		VUNPCKLPD(second, first, odd)
		VUNPCKHPD(second, first, even)
		for i, r := range []reg.VecVirtual{even, odd} {
			VMOVUPD(r.AsX(), operand.Mem{Base: to, Disp: 32 * (4*p + i)})
			VEXTRACTF128(operand.Imm(1), r, operand.Mem{Base: to, Disp: 32 * (4*p + i + 2)})
		}
	}
	ADDQ(operand.Imm(16), places)
	ADDQ(operand.Imm(16), to)
	DECQ(left)
	JNZ(operand.LabelRef("two"))
}

// hillTops goes on where a step has been too long.
func hillTops(h hillsAt) {
	x := backTo(h.field(1), h.load(2), h.field(3))
	zero := avx2.zeros(1)[0]
	VSUBPD(x, zero, x)
	ended, left := avx2.zeros(1)[0], GP64()
	MOVQ(operand.U32(hillClimbs), left)
	Label("climb")
	VMAXPD(everywhere(-hillReach), x, x)
	VMINPD(everywhere(hillReach), x, x)
	height, d1, d2, d3 := h.load(hillTerms-1), YMM(), YMM(), YMM()
	sums := []reg.VecVirtual{height, d1, d2, d3}
	for d := hillTerms - 2; d >= 0; d-- {
		for k := min(len(sums)-1, hillTerms-1-d); k > 0; k-- {
			if hillTerms-1-d == k {
				VMOVAPD(sums[k-1], sums[k])
			} else {
				VFMADD213PD(sums[k-1], x, sums[k])
			}
		}
		VFMADD213PD(h.field(d), x, sums[0])
	}
	back := backTo(d1, d2, d3)
	VFNMADD213PD(d2, back, d3)
	VFNMADD213PD(d1, back, d3)
	VFNMADD213PD(height, back, d3)
	VSUBPD(back, x, x)
	for i, r := range []reg.VecVirtual{x, d3, d2, back} {
		VBLENDVPD(ended, h.field(hillX+i), r, r)
		VMOVUPD(r, h.field(hillX+i))
	}
	VANDNPD(back, everyBit(signBit), back)
	VCMPPD(operand.U8(less), everywhere(hillStep), back, back)
	VORPD(back, ended, ended)
	bits := GP32()
	VMOVMSKPD(ended, bits)
	CMPL(bits, operand.Imm(15))
	JE(operand.LabelRef("found"))
	DECQ(left)
	JNZ(operand.LabelRef("climb"))
	Label("found")
}

// backTo is in lanes what it is in package kernel.
func backTo(d1 operand.Op, d2 reg.VecVirtual, d3 operand.Op) reg.VecVirtual {
	r, back, square := YMM(), YMM(), YMM()
	VDIVPD(d2, everywhere(0.5), r)
	VMULPD(d1, r, back)
	VMULPD(back, back, square)
	VMULPD(everywhere(3), r, r)
	VMULPD(d3, r, r)
	VFMADD231PD(square, r, back)
	return back
}

// Where descend keeps what it knows of the sides of the hills, of both each.
const (
	sideNear = 2 * iota
	sideFrom
	sideTo
	sideDown
	sideFalls
	sideAll
)

func descend() {
	TEXT("descendAVX2", NOSPLIT, "func(h *[84]float64)")
	Pragma("noescape")
	Doc("See descendGeneric.")
	h := hillsAt{Load(Param("h"), GP64())}
	kept := hillsAt{avx2.scratch(32 * (sideAll + 1))}
	// The sign's bit of hills below zero.
	flip, zero := h.load(hillHeight), avx2.zeros(1)[0]
	VCMPPD(operand.U8(less), zero, flip, flip)
	VANDPD(everyBit(signBit), flip, flip)
	VMOVUPD(flip, kept.field(sideAll))
	for side := range 2 {
		hillSide(h, kept, side)
	}
	hillFalls(h, kept)
	avx2.end()
}

// hillSide looks at places down a side, and finds between which of them it falls to the level.
func hillSide(h, kept hillsAt, side int) {
	var over [hillPlaces + 1]reg.VecVirtual
	var x [hillPlaces + 1]reg.VecVirtual
	for k := 1; k < len(x); k++ {
		x[k] = everywhere(hillStride * float64(k))
		ways[side](x[k], h.load(hillX), x[k])
		over[k] = h.load(hillTerms - 1)
	}
	for d := hillTerms - 2; d >= 0; d-- {
		for k := 1; k < len(x); k++ {
			VFMADD213PD(h.field(d), x[k], over[k])
		}
	}
	over[0] = h.load(hillHeight)
	for _, v := range over {
		VXORPD(kept.field(sideAll), v, v)
		VSUBPD(h.field(hillLevel), v, v)
	}
	least := everywhere(-math.MaxFloat64)
	rises := everywhere(-math.MaxFloat64)
	for k := 1; k < len(over); k++ {
		m := YMM()
		VCMPPD(operand.U8(less), over[k], over[k-1], m)
		VBLENDVPD(m, over[k], least, m)
		VMAXPD(rises, m, rises)
	}
	VMOVUPD(rises, h.field(hillRises+side))
	zero, falls, from, above, below := YMM(), YMM(), YMM(), YMM(), YMM()
	for _, r := range []reg.VecVirtual{zero, falls, from, above, below} {
		VXORPD(r, r, r)
	}
	for k := hillPlaces; k > 0; k-- {
		m := YMM()
		VCMPPD(operand.U8(lessEqual), zero, over[k], m)
		VORPD(m, falls, falls)
		VBLENDVPD(m, over[k-1], above, above)
		VBLENDVPD(m, over[k], below, below)
		VBLENDVPD(m, everywhere(hillStride*float64(k-1)), from, from)
	}
	m := YMM()
	VCMPPD(operand.U8(less), over[0], zero, m)
	VANDPD(m, falls, falls)
	VMOVUPD(falls, kept.field(sideFalls+side))

	to, fall, near, squared, down := YMM(), YMM(), YMM(), YMM(), YMM()
	VADDPD(everywhere(hillStride), from, to)
	VSUBPD(below, above, fall)
	VMULPD(everywhere(hillNear), fall, near)
	VMOVUPD(near, kept.field(sideNear+side))
	VMOVUPD(from, kept.field(sideFrom+side))
	VMOVUPD(to, kept.field(sideTo+side))
	VMULPD(from, from, squared)
	VMULPD(to, to, down)
	VSUBPD(squared, down, down)
	VDIVPD(fall, above, above)
	VFMADD213PD(squared, above, down)
	VSQRTPD(down, down)
	VMOVUPD(down, kept.field(sideDown+side))
}

// ways are b-a and b+a, before a peak and after it.
var ways = [2]func(ops ...operand.Op){VSUBPD, VADDPD}

// hillFalls finds where the sides fall to the level, of all hills at a time.
func hillFalls(h, kept hillsAt) {
	var ended [2]reg.VecVirtual
	for side := range ended { // where it does not
		ended[side] = everyBit(1<<64 - 1)
		VXORPD(kept.field(sideFalls+side), ended[side], ended[side])
	}
	left := GP64()
	MOVQ(operand.U32(hillTurns), left)
	Label("turn")
	var x, v, slope [2]reg.VecVirtual
	for side := range x {
		x[side], slope[side] = kept.load(sideDown+side), YMM()
		ways[side](x[side], h.load(hillX), x[side])
		v[side] = h.load(hillTerms - 1)
	}
	for d := hillTerms - 2; d >= 0; d-- {
		for side := range x {
			if d == hillTerms-2 {
				VMOVAPD(v[side], slope[side])
			} else {
				VFMADD213PD(v[side], x[side], slope[side])
			}
			VFMADD213PD(h.field(d), x[side], v[side])
		}
	}
	for side := range x {
		v, slope, down, zero := v[side], slope[side], kept.load(sideDown+side), avx2.zeros(1)[0]
		VXORPD(kept.field(sideAll), v, v)
		VSUBPD(h.field(hillLevel), v, v)
		VXORPD(kept.field(sideAll), slope, slope)
		if side == 0 {
			VXORPD(everyBit(signBit), slope, slope)
		}
		above, from, to := YMM(), YMM(), YMM()
		VCMPPD(operand.U8(less), v, zero, above)
		VMOVUPD(kept.field(sideFrom+side), from)
		VBLENDVPD(above, down, from, from)
		VBLENDVPD(above, kept.field(sideTo+side), down, to)
		VMOVUPD(from, kept.field(sideFrom+side))
		VMOVUPD(to, kept.field(sideTo+side))
		next, inside, m := YMM(), YMM(), YMM()
		VDIVPD(slope, v, next)
		VSUBPD(next, down, next)
		VCMPPD(operand.U8(lessEqual), next, from, inside)
		VCMPPD(operand.U8(lessEqual), to, next, m)
		VANDPD(m, inside, inside)
		VADDPD(to, from, from)
		VMULPD(everywhere(0.5), from, from)
		VBLENDVPD(inside, next, from, next)
		VBLENDVPD(ended[side], down, next, down)
		VMOVUPD(down, kept.field(sideDown+side))
		VANDNPD(v, everyBit(signBit), v)
		VCMPPD(operand.U8(less), kept.field(sideNear+side), v, m)
		VORPD(m, ended[side], ended[side])
	}
	all, bits := YMM(), GP32()
	VANDPD(ended[0], ended[1], all)
	VMOVMSKPD(all, bits)
	CMPL(bits, operand.Imm(15))
	JE(operand.LabelRef("end"))
	DECQ(left)
	JNZ(operand.LabelRef("turn"))
	Label("end")
	for side := range ended {
		down := kept.load(sideDown + side)
		VANDPD(kept.field(sideFalls+side), down, down)
		VMOVUPD(down, h.field(hillDown+side))
	}
}

const signBit = 1 << 63

var words = map[uint64]operand.Mem{}

// everyBit is a word in all lanes.
func everyBit(word uint64) reg.VecVirtual {
	if _, ok := words[word]; !ok {
		words[word] = ConstData(fmt.Sprint("word", len(words)), operand.U64(word))
	}
	r := YMM()
	VBROADCASTSD(words[word], r)
	return r
}
