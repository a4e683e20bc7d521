package main

import (
	"math"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// Where descend keeps what it knows of the hills' sides. Each of these is two fields, of the side before the
// peak and of that after it.
const (
	sideNear = 2 * iota
	sideFrom
	sideTo
	sideDown
	sideFalls
	sideFlip // one field: the sign's bit of hills below zero
)

func descend() {
	TEXT("descendAVX2", NOSPLIT, "func(h *[84]float64)")
	Pragma("noescape")
	Doc("See descendGeneric.")
	h := hillsAt{Load(Param("h"), GP64())}
	kept := hillsAt{avx2.scratch(32 * (sideFlip + 1))}
	flip, zero := h.load(hillHeight), avx2.zeros(1)[0]
	VCMPPD(operand.U8(less), zero, flip, flip)
	VANDPD(everyBit(signBit), flip, flip)
	VMOVUPD(flip, kept.field(sideFlip))
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
		VXORPD(kept.field(sideFlip), v, v)
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
		VXORPD(kept.field(sideFlip), v, v)
		VSUBPD(h.field(hillLevel), v, v)
		VXORPD(kept.field(sideFlip), slope, slope)
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
	all := YMM()
	VANDPD(ended[0], ended[1], all)
	untilAll(all, left, "turn", "end")
	for side := range ended {
		down := kept.load(sideDown + side)
		VANDPD(kept.field(sideFalls+side), down, down)
		VMOVUPD(down, h.field(hillDown+side))
	}
}
