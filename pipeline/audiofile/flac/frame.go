package flac

import (
	"math"
	"unicode/utf8"

	"ledgerline/stages/portable"
)

// Encoder makes frames. It is not safe for use by several goroutines at once.
type Encoder struct {
	form      Format
	planner   planner
	mid, side []int32
	w         bitWriter
}

// NewEncoder makes frames of a form of 8, 16, 24 or 32 bits.
func NewEncoder(f Format) *Encoder { return &Encoder{form: f} }

// Append appends the frame of a block, which is the given one of its stream, to dst. A block has BlockFrames
// samples of each channel, the last one of a stream at least one.
func (e *Encoder) Append(dst []byte, block [][]int32, number int64) []byte {
	from := len(dst)
	e.w = bitWriter{out: dst}
	if len(block) == 2 && e.form.Bits < 32 {
		e.pair(block, number, from)
	} else {
		e.header(len(block[0]), len(block)-1, number, from)
		for _, x := range block {
			p := e.planner.plan(x, e.form.Bits)
			p.write(&e.w, len(x))
		}
	}
	e.w.align()
	sum := crc16(e.w.out[from:])
	return append(e.w.out, byte(sum>>8), byte(sum))
}

// pair writes two channels in that of the four ways which the fixed predictions, cheap to try, find the
// shortest.
func (e *Encoder) pair(block [][]int32, number int64, from int) {
	l, r := block[0], block[1]
	n := len(l)
	e.mid, e.side = sized(e.mid, n), sized(e.side, n)
	for i := range n {
		e.mid[i], e.side[i] = (l[i]+r[i])>>1, l[i]-r[i]
	}
	left, right, mid, side := roughly(l), roughly(r), roughly(e.mid), roughly(e.side)
	bits := e.form.Bits
	way, a, b, bitsA, bitsB, least := 1, l, r, bits, bits, left+right
	if c := left + side; c < least {
		way, a, b, bitsB, least = leftSide, l, e.side, bits+1, c
	}
	if c := side + right; c < least {
		way, a, b, bitsA, bitsB, least = sideRight, e.side, r, bits+1, bits, c
	}
	if c := mid + side; c < least {
		way, a, b, bitsA, bitsB = midSide, e.mid, e.side, bits, bits+1
	}
	e.header(n, way, number, from)
	p := e.planner.plan(a, bitsA)
	p.write(&e.w, n)
	p = e.planner.plan(b, bitsB)
	p.write(&e.w, n)
}

// roughly is about how many bits a sample of x takes, less a constant: numbers twice as large take one more.
func roughly(x []int32) float64 {
	_, sum, ok := fixedOrder(x)
	if !ok || sum == 0 {
		return -1
	}
	return portable.Log(float64(sum)/float64(len(x))) / math.Ln2
}

// header writes what is before a frame's subframes: RFC 9639, 9.1.
func (e *Encoder) header(n, way int, number int64, from int) {
	const sync = 0xFFF8 // blocks of one length
	w := &e.w
	w.put(sync, 16)
	size := uint64(7) // 16 bits follow
	if n == BlockFrames {
		size = 12
	}
	w.put(size, 4)
	w.put(rateCode(e.form.Rate), 4)
	w.put(uint64(way), 4)
	w.put(map[int]uint64{8: 1, 16: 4, 24: 6, 32: 7}[e.form.Bits]<<1, 4)
	w.putNumber(uint64(number))
	if size == 7 {
		w.put(uint64(n-1), 16)
	}
	w.put(uint64(crc8(w.out[from:])), 8)
}

// rateCodes are the rates that a frame's header has a code for, by code less one.
var rateCodes = []int{88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000}

// rateCode is the code of a rate in a frame's header; 0: it is told before the frames only.
func rateCode(rate int) uint64 {
	for i, r := range rateCodes {
		if r == rate {
			return uint64(i + 1)
		}
	}
	return 0
}

// putNumber writes a number as UTF-8 has it, and on beyond that to 36 bits: RFC 9639, 9.1.5.
func (w *bitWriter) putNumber(v uint64) {
	if v < utf8.RuneSelf {
		w.put(v, 8)
		return
	}
	more := 1 // bytes after the first, of six bits each
	for v>>(6*more) >= 1<<(6-more) {
		more++
	}
	w.put(0xFF<<(7-more)&0xFF|v>>(6*more), 8)
	for more--; more >= 0; more-- {
		w.put(0x80|v>>(6*more)&0x3F, 8)
	}
}

// write writes a channel of a block of n samples: RFC 9639, 9.2.
func (p *plan) write(w *bitWriter, n int) {
	code := map[int]int{constant: 0, verbatim: 1, fixed: 8 + p.order, linear: 31 + p.order}[p.kind]
	w.put(uint64(code), 7)
	if p.wasted > 0 {
		w.put(1, 1)
		w.put(1, uint(p.wasted))
	} else {
		w.put(0, 1)
	}
	bits := uint(p.bits)
	switch p.kind {
	case constant, verbatim:
		for _, v := range p.samples {
			w.put(uint64(v), bits)
		}
		return
	}
	for _, v := range p.samples[:p.order] {
		w.put(uint64(v), bits)
	}
	if p.kind == linear {
		w.put(uint64(p.linear.precision-1), 4)
		w.put(uint64(p.linear.shift), 5)
		for _, c := range p.linear.by {
			w.put(uint64(c), uint(p.linear.precision))
		}
	}
	p.rice.write(w, p.rest, n)
}
