package flac

import (
	"encoding/binary"
	"math/bits"
)

// bitWriter appends bits to bytes, the most significant first.
type bitWriter struct {
	out  []byte
	acc  uint64 // the last held bits, in its low end
	held uint   // fewer than 8 between calls
}

// put appends the low n bits of v; n is at most 56.
func (w *bitWriter) put(v uint64, n uint) {
	w.acc = w.acc<<n | v&(1<<n-1)
	w.held += n
	if w.held < 8 {
		return
	}
	// All whole bytes at once: the rest of the word is overwritten by what follows.
	whole := w.held / 8
	at := len(w.out)
	w.out = binary.BigEndian.AppendUint64(w.out, w.acc<<(64-w.held))[:at+int(whole)]
	w.held %= 8
}

// zeros appends n zero bits.
func (w *bitWriter) zeros(n uint) {
	for ; n > 48; n -= 48 {
		w.put(0, 48)
	}
	w.put(0, n)
}

// align fills the last byte with zeros.
func (w *bitWriter) align() {
	if w.held > 0 {
		w.put(0, 8-w.held)
	}
}

// bitReader reads bits from bytes, the most significant first. Beyond the end it reads zeros, and is over.
type bitReader struct {
	in  []byte // with slack bytes of zero after its end
	end uint   // in bits, without the slack
	at  uint   // the next bit
}

// slack is how many bytes a bitReader may look beyond the end.
const slack = 8

// over says whether more has been read than there is.
func (r *bitReader) over() bool { return r.at > r.end }

// peek is the next 57 bits or more, from the top of the word.
func (r *bitReader) peek() uint64 {
	if r.at >= r.end {
		return 0
	}
	return binary.BigEndian.Uint64(r.in[r.at>>3:]) << (r.at & 7)
}

// read is the next n bits; n is at most 57.
func (r *bitReader) read(n uint) uint64 {
	v := r.peek() >> 1 >> (63 - n)
	r.at += n
	return v
}

// signed is the next n bits as a number in two's complement.
func (r *bitReader) signed(n uint) int64 {
	v := int64(r.peek()) >> 1 >> (63 - n)
	if n == 0 {
		v = 0
	}
	r.at += n
	return v
}

// unary is the number of zeros before the next one, which is read too.
func (r *bitReader) unary() uint {
	n := uint(0)
	for !r.over() {
		w := r.peek()
		if z := uint(bits.LeadingZeros64(w)); z < 57 {
			r.at += z + 1
			return n + z
		}
		// What peek has at the least is all zeros.
		r.at += 56
		n += 56
	}
	return n
}

// align skips to the next whole byte.
func (r *bitReader) align() { r.at = (r.at + 7) &^ 7 }
