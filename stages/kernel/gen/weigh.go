package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// The tables of a Weighing, in bytes from its first.
const (
	outs   = 0
	nexts  = outs + 8*64
	stay   = nexts + 4*64
	change = stay + 64
)

// weigh works on eight frames at a time. They are first put side by side for the two
// channels, in memory, so that one load spreads a frame over a register.
func (v vectors) weigh() {
	TEXT("weigh"+v.name, NOSPLIT, "func(x, y *float64, n int, w *float64, s, e *[8]float64)")
	Pragma("noescape")
	Doc("x and y through w, n frames, a multiple of 8 and not 0, from s on; adds the squares of what comes " +
		"out to e, frame by frame modulo 4.")
	x, y := Load(Param("x"), GP64()).(reg.GPVirtual), Load(Param("y"), GP64()).(reg.GPVirtual)
	n := Load(Param("n"), GP64()).(reg.GPVirtual)
	SHRQ(operand.Imm(3), n)
	w, sp, ep := Load(Param("w"), GP64()), Load(Param("s"), GP64()), Load(Param("e"), GP64())
	frames := v.scratch(4 * 64)
	parts := 8 / v.lanes // registers for a table's row
	row := func(at, r, p int) operand.Mem { return operand.Mem{Base: w, Disp: at + 64*r + 8*v.lanes*p} }
	s, e := v.load(sp, parts), v.load(ep, parts)
	works := func() { v.bothFours(frames, s, e, row) }
	if v.lanes == 8 {
		table := v.tables(row)
		works = func() { v.eachFour(frames, s, e, table) }
	}
	loop("eight", n, func() {
		v.pair(x, y, frames)
		works()
		ADDQ(operand.Imm(64), x)
		ADDQ(operand.Imm(64), y)
	})
	for p := range parts {
		VMOVUPD(s[p], v.at(sp, nil, p))
		VMOVUPD(e[p], v.at(ep, nil, p))
	}
	v.end()
}

// load fills registers from a pointer on.
func (v vectors) load(from reg.Register, parts int) (r []reg.VecVirtual) {
	for p := range parts {
		r = append(r, v.reg())
		VMOVUPD(v.at(from, nil, p), r[p])
	}
	return r
}

// eachFour takes the eight frames through w by fours, with the tables in registers.
func (v vectors) eachFour(frames reg.GPVirtual, s, e []reg.VecVirtual, table func(at, r, p int) operand.Op) {
	for half := range 2 {
		v.save(frames, half, s)
		var in, old [4]reg.VecVirtual
		for f := range 4 {
			in[f] = v.spread(frames, v.place(4*half+f))
		}
		for k := range 4 {
			old[k] = v.spread(frames, v.state(half, k))
		}
		for p := range s {
			out, next := v.reg(), v.reg()
			VMULPD(table(outs, 0, p), in[0], out)
			VMULPD(table(nexts, 0, p), in[0], next)
			for f := 1; f < 4; f++ {
				VFMADD231PD(table(outs, f, p), in[f], out)
				VFMADD231PD(table(nexts, f, p), in[f], next)
			}
			for k := range 4 {
				VFMADD231PD(table(outs, 4+k, p), old[k], out)
			}
			VFMADD231PD(out, out, e[p])
			other := v.reg()
			VPERMPD(operand.Imm(0x4e), s[p], other)
			VFMADD231PD(table(stay, 0, p), s[p], next)
			VFMADD231PD(table(change, 0, p), other, next)
			VMOVAPD(next, s[p])
		}
	}
}

// bothFours takes the eight frames through w. What the frames give is worked out for both fours at once, so
// that a row of the tables, for which there are too few registers, is loaded once.
func (v vectors) bothFours(frames reg.GPVirtual, s, e []reg.VecVirtual, row func(at, r, p int) operand.Mem) {
	var out, next [2][2]reg.VecVirtual // of each four, by parts
	for f := range 4 {
		in := [2]reg.VecVirtual{v.spread(frames, v.place(f)), v.spread(frames, v.place(4+f))}
		for p := range e {
			if f/2 <= p { // no frame gives to one before it
				v.give(row(outs, f, p), in, &out, p)
			}
			v.give(row(nexts, f, p), in, &next, p)
		}
	}
	for half := range 2 {
		v.save(frames, half, s)
		for p := range s {
			other := v.reg()
			VPERMPD(operand.Imm(0x4e), s[p], other)
			VFMADD132PD(row(stay, 0, p), next[half][p], s[p])
			VFMADD231PD(row(change, 0, p), other, s[p])
		}
	}
	for k := range 4 {
		old := [2]reg.VecVirtual{v.spread(frames, v.state(0, k)), v.spread(frames, v.state(1, k))}
		for p := range e {
			v.give(row(outs, 4+k, p), old, &out, p)
		}
	}
	for half := range 2 {
		for p := range e {
			VFMADD231PD(out[half][p], out[half][p], e[p])
		}
	}
}

// give adds what a frame of each four gives by a row to a part of the sums, or begins them with it.
func (v vectors) give(row operand.Mem, in [2]reg.VecVirtual, sums *[2][2]reg.VecVirtual, p int) {
	r := v.reg()
	VMOVUPD(row, r)
	for half := range 2 {
		sum := &sums[half][p]
		if *sum == nil {
			*sum = v.reg()
			VMULPD(r, in[half], *sum)
		} else {
			VFMADD231PD(r, in[half], *sum)
		}
	}
}

// save puts the states where one load spreads one of them: see state.
func (v vectors) save(frames reg.GPVirtual, half int, s []reg.VecVirtual) {
	for p := range s {
		VMOVUPD(s[p], operand.Mem{Base: frames, Disp: v.state(half, 0) + 8*v.lanes*p})
	}
}

// state is where save puts a state of before one of the fours.
func (v vectors) state(half, k int) int { return 128 + 64*half + 16*k }

// tables keeps the tables in registers.
func (v vectors) tables(row func(at, r, p int) operand.Mem) func(at, r, p int) operand.Op {
	kept := map[operand.Mem]reg.VecVirtual{}
	for _, t := range []struct{ at, rows int }{{outs, 8}, {nexts, 4}, {stay, 1}, {change, 1}} {
		for r := range t.rows {
			z := v.reg()
			VMOVUPD(row(t.at, r, 0), z)
			kept[row(t.at, r, 0)] = z
		}
	}
	return func(at, r, p int) operand.Op { return kept[row(at, r, p)] }
}

// pair puts eight frames of x and y side by side.
func (v vectors) pair(x, y reg.Register, to reg.Register) {
	for i := range 8 / v.lanes {
		a, even, odd := v.reg(), v.reg(), v.reg()
		VMOVUPD(v.at(x, nil, i), a)
		VUNPCKLPD(v.at(y, nil, i), a, even)
		VUNPCKHPD(v.at(y, nil, i), a, odd)
		VMOVUPD(even, operand.Mem{Base: to, Disp: 8 * v.lanes * i})
		VMOVUPD(odd, operand.Mem{Base: to, Disp: 64 + 8*v.lanes*i})
	}
}

// place is where pair puts frame f.
func (v vectors) place(f int) int { return 16*(f/2) + 64*(f%2) }

// spread fills a register with the two values at an offset.
func (v vectors) spread(base reg.Register, at int) reg.VecVirtual {
	r := v.reg()
	if m := (operand.Mem{Base: base, Disp: at}); v.lanes == 8 {
		VBROADCASTF64X2(m, r)
	} else {
		VBROADCASTF128(m, r)
	}
	return r
}

// scratch is room of that many bytes on the stack, at a multiple of 64.
func (v vectors) scratch(bytes int) reg.GPVirtual {
	p := GP64()
	LEAQ(AllocLocal(bytes+56), p)
	ADDQ(operand.Imm(56), p)
	ANDQ(operand.I32(-64), p)
	return p
}
