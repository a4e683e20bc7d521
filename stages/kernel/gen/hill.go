package main

import (
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
	hillLast // Step in package kernel
	hillLevel
	hillDown                 // before and after
	hillRises = hillDown + 2 // before and after
)

// hillsAt is four hills in memory, or as many numbers of each.
type hillsAt struct{ base reg.Register }

func (h hillsAt) field(i int) operand.Mem { return operand.Mem{Base: h.base, Disp: 32 * i} }

func (h hillsAt) load(i int) reg.VecVirtual {
	r := YMM()
	VMOVUPD(h.field(i), r)
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

// hillTops finds the peaks. It goes on until no hill's step is too long; the others keep their peaks.
func hillTops(h hillsAt) {
	x, _ := backTo(h.field(1), h.load(2), h.field(3))
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
	back, step := backTo(d1, d2, d3)
	VFNMADD213PD(d2, back, d3)
	VFNMADD213PD(d1, back, d3)
	VFNMADD213PD(height, back, d3)
	VSUBPD(back, x, x)
	for i, r := range []reg.VecVirtual{x, d3, d2, step} {
		VBLENDVPD(ended, h.field(hillX+i), r, r)
		VMOVUPD(r, h.field(hillX+i))
	}
	VANDNPD(step, everyBit(signBit), step)
	VCMPPD(operand.U8(less), everywhere(hillStep), step, step)
	VORPD(step, ended, ended)
	untilAll(ended, left, "climb", "found")
}

// untilAll goes again unless all lanes have ended or no turn is left.
func untilAll(ended reg.VecVirtual, left reg.Register, again, end string) {
	bits := GP32()
	VMOVMSKPD(ended, bits)
	CMPL(bits, operand.Imm(15))
	JE(operand.LabelRef(end))
	DECQ(left)
	JNZ(operand.LabelRef(again))
	Label(end)
}

// backTo is in lanes what it is in package kernel.
func backTo(d1 operand.Op, d2 reg.VecVirtual, d3 operand.Op) (back, step reg.VecVirtual) {
	r, square := YMM(), YMM()
	back, step = YMM(), YMM()
	VDIVPD(d2, everywhere(0.5), r)
	VMULPD(d1, r, step)
	VMULPD(step, step, square)
	VMULPD(everywhere(3), r, r)
	VMULPD(d3, r, r)
	VMOVAPD(step, back)
	VFMADD231PD(square, r, back)
	return back, step
}
