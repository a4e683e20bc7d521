package main

import (
	"sync"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// quarters are the four places a distance apart.
func quarters(base, distance, thrice reg.Register) [4]operand.Mem {
	return [4]operand.Mem{
		{Base: base},
		{Base: base, Index: distance, Scale: 1},
		{Base: base, Index: distance, Scale: 2},
		{Base: base, Index: thrice, Scale: 1},
	}
}

// butterfly gives what the four parts come to, in order; turns are the factors of the last three.
func butterfly(re, im [4]operand.Mem, turns [6]operand.Op, put func(k int, re, im reg.VecVirtual)) {
	ra, ia := load(re[0]), load(im[0])
	sumRe, difRe := add(ra, re[2]), less(ra, re[2])
	sumIm, difIm := add(ia, im[2]), less(ia, im[2])
	rb, ib := load(re[1]), load(im[1])
	oddRe, oddIm := add(rb, re[3]), add(ib, im[3])
	put(0, add(sumRe, oddRe), add(sumIm, oddIm))
	turn := func(k int, x, y reg.VecVirtual) {
		byRe, byIm := turns[2*k-2], turns[2*k-1]
		re, im := times(x, byRe), times(x, byIm)
		other := times(y, byIm)
		VSUBPD(other, re, re)
		VMULPD(byRe, y, other)
		VADDPD(other, im, im)
		put(k, re, im)
	}
	VSUBPD(oddRe, sumRe, sumRe)
	VSUBPD(oddIm, sumIm, sumIm)
	turn(2, sumRe, sumIm)
	curRe := less(ib, im[3])
	rd := load(re[3])
	curIm := less(rd, rb)
	turn(1, add(difRe, curRe), add(difIm, curIm))
	turn(3, less(difRe, curRe), less(difIm, curIm))
}

func strided() {
	begin("strided", "toRe, toIm, fromRe, fromIm, w *float64, m, stride int",
		"A step of four parts m*stride apart, for m turns and a stride that is a multiple of 4 and not 0; w has "+
			"six rows of m.")
	toRe, toIm, fromRe, fromIm, w := pointer("toRe"), pointer("toIm"), pointer("fromRe"), pointer("fromIm"),
		pointer("w")
	m, stride := pointer("m"), pointer("stride")
	row, part, part3, s, s3 := GP64(), GP64(), GP64(), GP64(), GP64()
	MOVQ(m, row)
	SHLQ(operand.Imm(3), row)
	MOVQ(row, part)
	IMULQ(stride, part)
	LEAQ(operand.Mem{Base: part, Index: part, Scale: 2}, part3)
	MOVQ(stride, s)
	SHLQ(operand.Imm(3), s)
	LEAQ(operand.Mem{Base: s, Index: s, Scale: 2}, s3)
	SHRQ(operand.Imm(2), stride)
	Label("turn")
	var turns [6]operand.Op
	at := GP64()
	MOVQ(w, at)
	for k := range turns {
		r := YMM()
		VBROADCASTSD(operand.Mem{Base: at}, r)
		turns[k] = r
		if k < 5 {
			ADDQ(row, at)
		}
	}
	n := GP64()
	MOVQ(stride, n)
	loop("four", n, func() {
		outRe, outIm := quarters(toRe, s, s3), quarters(toIm, s, s3)
		butterfly(quarters(fromRe, part, part3), quarters(fromIm, part, part3),
			turns, func(k int, re, im reg.VecVirtual) {
				VMOVUPD(re, outRe[k])
				VMOVUPD(im, outIm[k])
			})
		on(fromRe, fromIm, toRe, toIm)
	})
	ADDQ(s3, toRe)
	ADDQ(s3, toIm)
	ADDQ(operand.Imm(8), w)
	DECQ(m)
	JNZ(operand.LabelRef("turn"))
	end()
}

func first() {
	begin("first", "toRe, toIm, fromRe, fromIm, w *float64, m int",
		"The step of stride 1 for m turns, a multiple of 4 and not 0; w has six rows of m.")
	toRe, toIm, fromRe, fromIm, w := pointer("toRe"), pointer("toIm"), pointer("fromRe"), pointer("fromIm"),
		pointer("w")
	part := pointer("m")
	n := GP64()
	MOVQ(part, n)
	SHRQ(operand.Imm(2), n)
	SHLQ(operand.Imm(3), part)
	part3, w3 := GP64(), GP64()
	LEAQ(operand.Mem{Base: part, Index: part, Scale: 2}, part3)
	LEAQ(operand.Mem{Base: w, Index: part3, Scale: 1}, w3)
	loop("four", n, func() {
		a, b := quarters(w, part, part3), quarters(w3, part, part3)
		turns := [6]operand.Op{a[0], a[1], a[2], b[0], b[1], b[2]}
		var re, im [4]reg.VecVirtual
		butterfly(quarters(fromRe, part, part3), quarters(fromIm, part, part3),
			turns, func(k int, r, i reg.VecVirtual) {
				re[k], im[k] = r, i
			})
		across(re, toRe)
		across(im, toIm)
		on(fromRe, fromIm, w, w3)
		ADDQ(operand.U32(128), toRe)
		ADDQ(operand.U32(128), toIm)
	})
	end()
}

// across stores the columns of four rows one after the other.
func across(rows [4]reg.VecVirtual, to reg.Register) {
	low, high, low2, high2 := YMM(), YMM(), YMM(), YMM()
	VUNPCKLPD(rows[1], rows[0], low)
	VUNPCKHPD(rows[1], rows[0], high)
	VUNPCKLPD(rows[3], rows[2], low2)
	VUNPCKHPD(rows[3], rows[2], high2)
	for k, c := range []struct {
		half uint8
		a, b reg.VecVirtual
	}{{0x20, low, low2}, {0x20, high, high2}, {0x31, low, low2}, {0x31, high, high2}} {
		r := YMM()
		VPERM2F128(operand.U8(c.half), c.b, c.a, r)
		VMOVUPD(r, operand.Mem{Base: to, Disp: 32 * k})
	}
}

// half is one half four times.
var half = sync.OnceValue(func() operand.Mem { return four("half", 0.5) })

// unfold is the last step of a transform of real values.
func unfold() {
	begin("unfold", "re, im, zRe, zIm, wRe, wIm *float64, n, last int",
		"Bins k and last-k for k = 0..n-1, a multiple of 4 and not 0, counted from the pointers; the ones of "+
			"last-k are reached backwards.")
	re, im, zRe, zIm, wRe, wIm := pointer("re"), pointer("im"), pointer("zRe"), pointer("zIm"), pointer("wRe"),
		pointer("wIm")
	n, back := count("n"), pointer("last")
	halfOf := YMM()
	VMOVUPD(half(), halfOf)
	backwards := func(base reg.Register) operand.Mem {
		return operand.Mem{Base: base, Index: back, Scale: 8, Disp: -24}
	}
	reversed := func(base reg.Register) reg.VecVirtual {
		r := YMM()
		VPERMPD(operand.U8(0x1b), backwards(base), r)
		return r
	}
	store := func(x reg.VecVirtual, base reg.Register) {
		VPERMPD(operand.U8(0x1b), x, x)
		VMOVUPD(x, backwards(base))
	}
	// From the last one's place the pointers go on, and the way back from them is shorter by two vectors each
	// time.
	loop("four", n, func() {
		aRe, aIm := load(at(zRe)), load(at(zIm))
		bRe, bIm := reversed(zRe), reversed(zIm)
		evenRe, evenIm := times(add(aRe, bRe), halfOf), times(less(aIm, bIm), halfOf)
		x, y := times(add(aIm, bIm), halfOf), times(less(bRe, aRe), halfOf)
		oddRe := less(times(x, at(wRe)), times(y, at(wIm)))
		oddIm := add(times(x, at(wIm)), times(y, at(wRe)))
		VMOVUPD(add(evenRe, oddRe), at(re))
		VMOVUPD(add(evenIm, oddIm), at(im))
		store(less(evenRe, oddRe), re)
		store(less(oddIm, evenIm), im)
		on(re, im, zRe, zIm, wRe, wIm)
		SUBQ(operand.Imm(8), back)
	})
	end()
}

// fold is the first step of a transform to real values.
func fold() {
	begin("fold", "zRe, zIm, re, im, wRe, wIm *float64, n, last int",
		"Values k and last-k for k = 0..n-1, a multiple of 4 and not 0, counted from the pointers; the ones of "+
			"last-k are reached backwards.")
	zRe, zIm, re, im, wRe, wIm := pointer("zRe"), pointer("zIm"), pointer("re"), pointer("im"), pointer("wRe"),
		pointer("wIm")
	n, back := count("n"), pointer("last")
	halfOf := YMM()
	VMOVUPD(half(), halfOf)
	backwards := func(base reg.Register) operand.Mem {
		return operand.Mem{Base: base, Index: back, Scale: 8, Disp: -24}
	}
	reversed := func(base reg.Register) reg.VecVirtual {
		r := YMM()
		VPERMPD(operand.U8(0x1b), backwards(base), r)
		return r
	}
	store := func(x reg.VecVirtual, base reg.Register) {
		VPERMPD(operand.U8(0x1b), x, x)
		VMOVUPD(x, backwards(base))
	}
	loop("four", n, func() {
		aRe, aIm := load(at(re)), load(at(im))
		bRe, bIm := reversed(re), reversed(im)
		evenRe, evenIm := times(add(aRe, bRe), halfOf), times(less(aIm, bIm), halfOf)
		x, y := times(less(aRe, bRe), halfOf), times(add(aIm, bIm), halfOf)
		// Turned back: by wRe and -wIm.
		oddRe := add(times(x, at(wRe)), times(y, at(wIm)))
		oddIm := less(times(y, at(wRe)), times(x, at(wIm)))
		VMOVUPD(less(evenRe, oddIm), at(zRe))
		VMOVUPD(add(evenIm, oddRe), at(zIm))
		store(add(evenRe, oddIm), zRe)
		store(less(oddRe, evenIm), zIm)
		on(re, im, zRe, zIm, wRe, wIm)
		SUBQ(operand.Imm(8), back)
	})
	end()
}

func join() {
	begin("join", "x, even, odd *float64, byEven, byOdd float64, n int",
		"x[2i] = byEven*even[i], x[2i+1] = byOdd*odd[i], i < n, a multiple of 4 and not 0.")
	x, even, odd := pointer("x"), pointer("even"), pointer("odd")
	by := [2]reg.VecVirtual{YMM(), YMM()}
	for i, name := range []string{"byEven", "byOdd"} {
		p, _ := Param(name).Resolve()
		VBROADCASTSD(p.Addr, by[i])
	}
	n := count("n")
	loop("four", n, func() {
		a, b := times(by[0], at(even)), times(by[1], at(odd))
		low, high, first, second := YMM(), YMM(), YMM(), YMM()
		VUNPCKLPD(b, a, low) // a0 b0 a2 b2
		VUNPCKHPD(b, a, high)
		VPERM2F128(operand.U8(0x20), high, low, first)
		VPERM2F128(operand.U8(0x31), high, low, second)
		VMOVUPD(first, at(x))
		VMOVUPD(second, operand.Mem{Base: x, Disp: 32})
		on(even, odd, x, x)
	})
	end()
}

func halves() {
	begin("halves", "toRe, toIm, fromRe, fromIm *float64, n int",
		"Sums and differences of values i and n+i, i < n, a multiple of 4 and not 0.")
	toRe, toIm, fromRe, fromIm, n := pointer("toRe"), pointer("toIm"), pointer("fromRe"), pointer("fromIm"),
		pointer("n")
	far := GP64()
	MOVQ(n, far)
	SHRQ(operand.Imm(2), n)
	further := func(base reg.Register) operand.Mem { return operand.Mem{Base: base, Index: far, Scale: 8} }
	loop("four", n, func() {
		for _, p := range [2][2]reg.GPVirtual{{toRe, fromRe}, {toIm, fromIm}} {
			a, b := load(at(p[1])), load(further(p[1]))
			VMOVUPD(add(a, b), at(p[0]))
			VMOVUPD(less(a, b), further(p[0]))
		}
		on(toRe, toIm, fromRe, fromIm)
	})
	end()
}

func part() {
	begin("part", "even, odd, x *float64, n int",
		"even[i] = x[2i], odd[i] = x[2i+1], i < n, a multiple of 4 and not 0.")
	even, odd, x, n := pointer("even"), pointer("odd"), pointer("x"), count("n")
	loop("four", n, func() {
		parted(load(at(x)), load(operand.Mem{Base: x, Disp: 32}), even, odd)
		on(even, odd, x, x)
	})
	end()
}

func partTapered() {
	begin("partTapered", "even, odd, x, taper *float64, n int",
		"even[i] = x[2i]*taper[2i], odd[i] = x[2i+1]*taper[2i+1], i < n, a multiple of 4 and not 0.")
	even, odd, x, taper, n := pointer("even"), pointer("odd"), pointer("x"), pointer("taper"), count("n")
	loop("four", n, func() {
		a, b := times(load(at(x)), at(taper)),
			times(load(operand.Mem{Base: x, Disp: 32}), operand.Mem{Base: taper, Disp: 32})
		parted(a, b, even, odd)
		on(even, odd, x, x, taper, taper)
	})
	end()
}

// parted stores every other one of eight values to each of two places.
func parted(a, b reg.VecVirtual, even, odd reg.Register) {
	low, high := YMM(), YMM()
	VUNPCKLPD(b, a, low) // 0 4 2 6
	VUNPCKHPD(b, a, high)
	VPERMPD(operand.U8(0xd8), low, low)
	VPERMPD(operand.U8(0xd8), high, high)
	VMOVUPD(low, at(even))
	VMOVUPD(high, at(odd))
}
