package flac

import (
	"errors"
	"fmt"
)

// errShort says that a frame goes on beyond what there is of it.
var errShort = errors.New("it ends within a frame")

// Short says whether err is that there is less than a whole frame.
func Short(err error) bool { return errors.Is(err, errShort) }

// Decoder reads frames. It is not safe for use by several goroutines at once.
type Decoder struct {
	form     Format
	most     int // frames of a block, at most
	channels [][]int64
	r        bitReader
}

// NewDecoder reads frames of the stream that info describes.
func NewDecoder(info Info) *Decoder {
	d := &Decoder{form: info.Format, most: info.BlockMax}
	for range d.form.Channels {
		d.channels = append(d.channels, make([]int64, 0, d.most))
	}
	return d
}

// MostBytes is how long a frame can be: one whose samples are all kept as they are.
func (d *Decoder) MostBytes() int {
	return 32 + d.form.Channels*(8+(d.most*(d.form.Bits+1)+7)/8)
}

// Slack is how many bytes must follow those that Frame is given within the same array.
const Slack = slack

// Frame reads the frame that in begins with: its samples by channel, which are good until the next call, and
// its length in bytes. At is the number of the frame's first sample, which its header must agree with. The
// array that in lies in must go on for Slack bytes after it.
func (d *Decoder) Frame(in []byte, at int64) (samples [][]int64, length int, err error) {
	d.r = bitReader{in: in[:len(in)+slack], end: uint(len(in)) * 8}
	n, way, err := d.header(at)
	if err != nil {
		return nil, 0, err
	}
	for c := range d.channels {
		bits := d.form.Bits
		if way == leftSide && c == 1 || way == sideRight && c == 0 || way == midSide && c == 1 {
			bits++
		}
		d.channels[c] = d.channels[c][:n]
		if err := d.subframe(d.channels[c], bits); err != nil {
			return nil, 0, fmt.Errorf("channel %d: %w", c+1, err)
		}
		if d.r.over() {
			return nil, 0, errShort
		}
	}
	d.r.align()
	end := int(d.r.at / 8)
	sum := uint16(d.r.read(16))
	if d.r.over() {
		return nil, 0, errShort
	}
	if want := crc16(in[:end]); sum != want {
		return nil, 0, fmt.Errorf("its checksum is %04x, its content's %04x", sum, want)
	}
	d.rejoin(way)
	return d.channels, end + 2, d.within()
}

// header reads a frame's header: how many frames its block has, and how its channels are kept.
func (d *Decoder) header(at int64) (n, way int, err error) {
	r := &d.r
	if r.end < 16 {
		return 0, 0, errShort
	}
	if sync := r.read(15); sync != 0xFFF8>>1 {
		return 0, 0, fmt.Errorf("it begins with %04x, want fff8 or fff9", sync<<1)
	}
	variable := r.read(1) == 1
	size, rate := r.read(4), r.read(4)
	way = int(r.read(4))
	bits := r.read(3)
	reserved := r.read(1)
	number := r.number()
	n = blockOf(size, r)
	hz := rateOf(rate, r)
	end := r.at / 8
	sum := uint8(r.read(8))
	if r.over() {
		return 0, 0, errShort
	}
	if want := crc8(r.in[:end]); sum != want {
		return 0, 0, fmt.Errorf("the checksum of its header is %02x, its content's %02x", sum, want)
	}
	channels := way + 1
	if way >= leftSide {
		channels = 2
	}
	switch {
	case n == 0 || reserved != 0 || rate == 15 || way > midSide || bits == 3:
		return 0, 0, errors.New("its header has a reserved value")
	case n > d.most:
		return 0, 0, fmt.Errorf("a block of %d frames, want %d at most", n, d.most)
	case hz != 0 && hz != d.form.Rate:
		return 0, 0, fmt.Errorf("its rate is %d Hz, the file's %d", hz, d.form.Rate)
	case channels != d.form.Channels:
		return 0, 0, fmt.Errorf("it has %d channels, the file %d", channels, d.form.Channels)
	case bits != 0 && bitsOf[bits] != d.form.Bits:
		return 0, 0, fmt.Errorf("its samples have %d bits, the file's %d", bitsOf[bits], d.form.Bits)
	case variable && int64(number) != at, !variable && int64(number)*int64(d.most) != at:
		return 0, 0, fmt.Errorf("it is number %d, which does not follow: frames are missing or out of order",
			number)
	}
	return n, way, nil
}

// bitsOf is the length of samples by its code.
var bitsOf = [8]int{0, 8, 12, 0, 16, 20, 24, 32}

// blockOf is the length of a block by its code; 0: there is no such code.
func blockOf(code uint64, r *bitReader) int {
	switch {
	case code == 0:
		return 0
	case code == 1:
		return 192
	case code < 6:
		return 144 << code
	case code == 6:
		return int(r.read(8)) + 1
	case code == 7:
		return int(r.read(16)) + 1
	}
	return 1 << code
}

// rateOf is a rate by its code, Hz; 0: the header leaves it open.
func rateOf(code uint64, r *bitReader) int {
	switch {
	case code == 0 || code == 15:
		return 0
	case code <= 11:
		return rateCodes[code-1]
	case code == 12:
		return int(r.read(8)) * 1000
	case code == 13:
		return int(r.read(16))
	}
	return int(r.read(16)) * 10
}

// number reads what putNumber writes. What it does not write becomes a number that nothing agrees with.
func (r *bitReader) number() uint64 {
	const none = 1<<63 - 1
	first := r.read(8)
	if first < 0x80 {
		return first
	}
	more := 0
	for first<<(more+1)&0x80 != 0 {
		more++
	}
	if more == 0 || more > 6 {
		return none
	}
	v := first & (0x3F >> more)
	for range more {
		b := r.read(8)
		if b>>6 != 2 {
			return none
		}
		v = v<<6 | b&0x3F
	}
	return v
}

// rejoin makes the channels of what they are kept as.
func (d *Decoder) rejoin(way int) {
	if way < leftSide {
		return
	}
	a, b := d.channels[0], d.channels[1]
	switch way {
	case leftSide:
		for i, side := range b {
			b[i] = a[i] - side
		}
	case sideRight:
		for i, side := range a {
			a[i] = b[i] + side
		}
	case midSide:
		for i, side := range b {
			sum := a[i]<<1 | side&1
			a[i], b[i] = (sum+side)>>1, (sum-side)>>1
		}
	}
}

// within says whether the samples have no more bits than the form says.
func (d *Decoder) within() error {
	all := int64(0)
	for _, x := range d.channels {
		for _, v := range x {
			all |= v ^ v>>63
		}
	}
	if all>>(d.form.Bits-1) != 0 {
		return fmt.Errorf("a sample has more than %d bits", d.form.Bits)
	}
	return nil
}
