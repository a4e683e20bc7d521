package main

import (
	"fmt"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

func (v vectors) within() {
	TEXT("within"+v.name, NOSPLIT, "func(x *float64, n int, limit float64) int")
	Pragma("noescape")
	Doc("The first i < n at which not |x[i]| <= limit, or n, a multiple of 8.")
	p := Load(Param("x"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	mask, limit := v.magnitude(), v.broadcast("limit")
	i := GP64()
	XORQ(i, i)
	Label("next")
	CMPQ(i, n)
	JGE(operand.LabelRef("none"))
	x := v.reg()
	VMOVUPD(v.at(p, i, 0), x)
	found := v.bits(v.compare(notLessEqual, v.size(x, mask), limit))
	TESTL(found, found)
	JNZ(operand.LabelRef("some"))
	ADDQ(operand.Imm(uint64(v.lanes)), i)
	JMP(operand.LabelRef("next"))
	Label("some")
	at := GP64()
	BSFL(found, at.As32()) // clears the upper half
	ADDQ(at, i)
	Label("none")
	Store(i, ReturnIndex(0))
	v.end()
}

// taken books eight samples at a time, one to a lane, in so many registers.
func (v vectors) taken() {
	TEXT("taken"+v.name, NOSPLIT, "func(in, out *float64, n int, ceiling, wild float64, s *[8]float64) "+
		"(touched int, cut float64)")
	Pragma("noescape")
	Doc("See Taken: n is a multiple of 8 and not 0, and s gets the sums of i%8.")
	in, out := Load(Param("in"), GP64()).(reg.GPVirtual), Load(Param("out"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	sums := Load(Param("s"), GP64())
	SHRQ(operand.Imm(3), n)
	mask, ceiling, wild := v.magnitude(), v.broadcast("ceiling"), v.broadcast("wild")
	cut, squares := v.constant(1), v.zeros(8/v.lanes)
	touched := GP64()
	XORQ(touched, touched)
	loop("eight", n, func() {
		for i := range squares {
			a, b, d := v.reg(), v.reg(), v.reg()
			VMOVUPD(v.at(in, nil, i), a)
			VMOVUPD(v.at(out, nil, i), b)
			VSUBPD(b, a, d)
			size := v.size(a, mask)
			changed := v.compare(notEqual, a, b)
			count := v.bits(changed)
			POPCNTL(count, count)
			ADDQ(count.As64(), touched)
			changed = v.and(changed, v.compare(lessEqual, size, wild))
			d = v.where(changed, d)
			VMULPD(d, d, d)
			VADDPD(d, squares[i], squares[i])
			over := v.and(changed, v.compare(less, ceiling, size))
			some := v.bits(over)
			TESTL(some, some)
			skip := fmt.Sprint("within", i)
			JZ(operand.LabelRef(skip))
			ratio := v.reg()
			VDIVPD(v.size(b, mask), size, ratio)
			VMAXPD(v.where(over, ratio), cut, cut)
			Label(skip)
		}
		ADDQ(operand.Imm(64), in)
		ADDQ(operand.Imm(64), out)
	})
	for i, s := range squares {
		VMOVUPD(s, v.at(sums, nil, i))
	}
	Store(touched, ReturnIndex(0))
	Store(v.largest(cut), ReturnIndex(1))
	v.end()
}

// where is x, and 0 in the lanes that are not in the mask.
func (v vectors) where(m reg.Register, x reg.VecVirtual) reg.VecVirtual {
	y := v.reg()
	if v.lanes == 8 {
		VMOVAPD_Z(x, m, y)
	} else {
		VANDPD(m, x, y)
	}
	return y
}

// largest is the largest lane.
func (v vectors) largest(x reg.VecVirtual) reg.Register {
	top := x.AsY()
	if v.lanes == 8 {
		upper := YMM()
		VEXTRACTF64X4(operand.Imm(1), x, upper)
		VMAXPD(upper, top, top)
	}
	half, other := XMM(), XMM()
	VEXTRACTF128(operand.Imm(1), top, half)
	VMAXPD(half, x.AsX(), half)
	VPERMILPD(operand.Imm(1), half, other)
	VMAXSD(other, half, half)
	return half
}

func (v vectors) quantise() {
	TEXT("quantise"+v.name, NOSPLIT, "func(x, noise *float64, n int, scale, step, bottom, top float64) int")
	Pragma("noescape")
	Doc("See Quantise: eight at a time, n is a multiple of 8 and not 0.")
	x, noise := Load(Param("x"), GP64()).(reg.GPVirtual), Load(Param("noise"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	scale, step := v.broadcast("scale"), v.broadcast("step")
	bottom, top := v.broadcast("bottom"), v.broadcast("top")
	zero := v.zeros(1)[0]
	i := GP64()
	XORQ(i, i)
	Label("next")
	var codes []reg.VecVirtual
	var within reg.Register
	for k := range 8 / v.lanes {
		c := v.reg()
		VMULPD(v.at(x, i, k), scale, c)
		VADDPD(v.at(noise, i, k), c, c)
		if v.lanes == 8 {
			VRNDSCALEPD(operand.Imm(0), c, c)
		} else {
			VROUNDPD(operand.Imm(0), c, c)
		}
		m := v.and(v.compare(lessEqual, bottom, c), v.compare(lessEqual, c, top))
		if within != nil {
			m = v.and(within, m)
		}
		codes, within = append(codes, c), m
	}
	set := v.bits(within)
	CMPL(set, operand.U32(1<<v.lanes-1))
	JNE(operand.LabelRef("end"))
	for k, c := range codes {
		VMULPD(step, c, c)
		VADDPD(zero, c, c)
		VMOVUPD(c, v.at(x, i, k))
	}
	ADDQ(operand.Imm(8), i)
	CMPQ(i, n)
	JLT(operand.LabelRef("next"))
	Label("end")
	Store(i, ReturnIndex(0))
	v.end()
}

func (v vectors) triangular() {
	TEXT("triangular"+v.name, NOSPLIT, "func(noise *float64, n int, state uint64)")
	Pragma("noescape")
	Doc("See Triangular: n is a multiple of 8 and not 0.")
	p := Load(Param("noise"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	first := Load(Param("state"), GP64())
	SHRQ(operand.Imm(3), n)
	start := v.scratch(64)
	step := GP64()
	MOVQ(operand.U64(randomStep), step)
	for i := range 8 {
		ADDQ(step, first)
		MOVQ(first, operand.Mem{Base: start, Disp: 8 * i})
	}
	state := v.reg()
	VMOVUPD(v.at(start, nil, 0), state)
	onward := v.word(randomStep * 8 & (1<<64 - 1))
	c1, c2 := v.multiplier(mix1), v.multiplier(mix2)
	// A number below 2^32 in the low bits of 2^52 is that much more.
	low, big := v.word(1<<32-1), v.word(0x433<<52)
	small := v.constant(0x1p-32)
	difference := func(w reg.VecVirtual, k int) {
		high := v.reg()
		VPSRLQ(operand.Imm(32), w, high)
		VORPD(big, high, high)
		VANDPD(low, w, w)
		VORPD(big, w, w)
		VSUBPD(w, high, high)
		VMULPD(small, high, high)
		VMOVUPD(high, v.at(p, nil, k))
	}
	alone := func() {}
	if v.lanes == 4 {
		alone = v.wordsAlone(start, step, func(w reg.VecVirtual) { difference(w, 1) })
	}
	loop("eight", n, func() {
		w := v.times(v.stir(state, 30), c1)
		w = v.times(v.stir(w, 27), c2)
		difference(v.stir(w, 31), 0)
		VPADDQ(onward, state, state)
		alone()
		ADDQ(operand.Imm(64), p)
	})
	v.end()
}

// wordsAlone makes the last four of eight words one by one, while the vector units, whose shifts and products
// of words take long, are at work on the first four. It is given where the states are.
func (v vectors) wordsAlone(start, step reg.Register, done func(w reg.VecVirtual)) func() {
	state, fives, c1, c2 := GP64(), GP64(), GP64(), GP64()
	MOVQ(operand.Mem{Base: start, Disp: 8 * 4}, state)
	MOVQ(operand.U64(randomStep*5&(1<<64-1)), fives)
	MOVQ(operand.U64(mix1), c1)
	MOVQ(operand.U64(mix2), c2)
	return func() {
		var halves [2]reg.VecVirtual
		for i := range 4 {
			w := GP64()
			MOVQ(state, w)
			stirAlone(w, 30)
			IMULQ(c1, w)
			stirAlone(w, 27)
			IMULQ(c2, w)
			stirAlone(w, 31)
			if i%2 == 0 {
				halves[i/2] = XMM()
				VMOVQ(w, halves[i/2])
			} else {
				VPINSRQ(operand.Imm(1), w, halves[i/2], halves[i/2])
			}
			if i < 3 {
				ADDQ(step, state)
			} else {
				ADDQ(fives, state)
			}
		}
		all := YMM()
		VINSERTF128(operand.Imm(1), halves[1], halves[0].AsY(), all)
		done(all)
	}
}

// stirAlone is stir of one word.
func stirAlone(w reg.GPVirtual, by uint64) {
	r := GP64()
	MOVQ(w, r)
	SHRQ(operand.Imm(by), r)
	XORQ(r, w)
}

// mix1 and mix2 are the factors of kernel.RandomWord.
const (
	mix1 = 0xbf58476d1ce4e5b9
	mix2 = 0x94d049bb133111eb
)

// randomStep is kernel.RandomStep.
const randomStep = 0x9e3779b97f4a7c15

// stir is w ^ w>>by.
func (v vectors) stir(w reg.VecVirtual, by uint64) reg.VecVirtual {
	r := v.reg()
	VPSRLQ(operand.Imm(by), w, r)
	VXORPD(w, r, r)
	return r
}

// word is a register with c in every lane.
func (v vectors) word(c uint64) reg.VecVirtual {
	r, g, low := v.reg(), GP64(), XMM()
	MOVQ(operand.U64(c), g)
	VMOVQ(g, low)
	VPBROADCASTQ(low, r)
	return r
}

// A multiplier is a word and, for AVX2, its upper half.
type multiplier struct{ whole, upper reg.VecVirtual }

func (v vectors) multiplier(c uint64) multiplier {
	m := multiplier{whole: v.word(c)}
	if v.lanes != 8 {
		m.upper = v.word(c >> 32)
	}
	return m
}

// times is the low 64 bits of the product. AVX2 has that of halves only.
func (v vectors) times(w reg.VecVirtual, by multiplier) reg.VecVirtual {
	r := v.reg()
	if v.lanes == 8 {
		VPMULLQ(by.whole, w, r)
		return r
	}
	upper, other := v.reg(), v.reg()
	VPSRLQ(operand.Imm(32), w, upper)
	VPMULUDQ(by.whole, upper, upper)
	VPMULUDQ(by.upper, w, other)
	VPADDQ(other, upper, upper)
	VPSLLQ(operand.Imm(32), upper, upper)
	VPMULUDQ(by.whole, w, r)
	VPADDQ(upper, r, r)
	return r
}

// clamp brings eight samples at a time within a ceiling. A register in which none is beyond it is passed
// over.
func (v vectors) clamp() {
	TEXT("clamp"+v.name, NOSPLIT, "func(x *float64, n int, ceiling, wild float64, s *[8]float64) (touched "+
		"int, top float64)")
	Pragma("noescape")
	Doc("See Clamp: n is a multiple of 8 and not 0; adds to s the sums of i%8.")
	x := Load(Param("x"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	sums := Load(Param("s"), GP64())
	SHRQ(operand.Imm(3), n)
	mask, ceiling, wild := v.magnitude(), v.broadcast("ceiling"), v.broadcast("wild")
	floor := v.reg()
	zero := v.zeros(1)[0]
	VSUBPD(ceiling, zero, floor)
	top := v.zeros(1)[0]
	var squares []reg.VecVirtual
	for i := range 8 / v.lanes {
		r := v.reg()
		VMOVUPD(v.at(sums, nil, i), r)
		squares = append(squares, r)
	}
	touched := GP64()
	XORQ(touched, touched)
	loop("eight", n, func() {
		for i := range squares {
			a, b, d := v.reg(), v.reg(), v.reg()
			VMOVUPD(v.at(x, nil, i), a)
			size := v.size(a, mask)
			over := v.compare(less, ceiling, size)
			some := v.bits(over)
			TESTL(some, some)
			skip := fmt.Sprint("within", i)
			JZ(operand.LabelRef(skip))
			POPCNTL(some, some)
			ADDQ(some.As64(), touched)
			VMINPD(a, ceiling, b) // a where it is not a number
			VMAXPD(b, floor, b)
			VMOVUPD(b, v.at(x, nil, i))
			VSUBPD(b, a, d)
			tame := v.and(over, v.compare(lessEqual, size, wild))
			d = v.where(tame, d)
			VMULPD(d, d, d)
			VADDPD(d, squares[i], squares[i])
			VMAXPD(v.where(tame, size), top, top)
			Label(skip)
		}
		ADDQ(operand.Imm(64), x)
	})
	for i, s := range squares {
		VMOVUPD(s, v.at(sums, nil, i))
	}
	Store(touched, ReturnIndex(0))
	Store(v.largest(top), ReturnIndex(1))
	v.end()
}
