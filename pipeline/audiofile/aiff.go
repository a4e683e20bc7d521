package audiofile

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"slices"
)

// aiffPlumbing are the chunks of an AIFF file that Reader.Chunks does not name.
var aiffPlumbing = []string{"COMM", "SSND", "FVER", "PAD", "FLLR", "junk", "JUNK"}

// scanAIFF checks every chunk of an AIFF or AIFF-C file of that size and finds its audio.
func scanAIFF(r io.ReaderAt, size int64) (l layout, err error) {
	var common, sound chunk
	var p [12]byte
	if err := readAt(r, p[:], 0); err != nil {
		return l, err
	}
	end := min(size, 8+int64(binary.BigEndian.Uint32(p[4:])))
	for at, n := int64(12), 0; at+8 <= end; n++ {
		if n == maxChunks {
			return l, faultf(ErrUnsupported, fmt.Sprintf("at byte %d", at), "more than %d chunks", maxChunks)
		}
		if err := readAt(r, p[:8], at); err != nil {
			return l, err
		}
		c := chunk{[4]byte(p[:]), at, at + 8, int64(binary.BigEndian.Uint32(p[4:]))}
		if !printable(c.id) {
			return l, faultf(ErrCorrupt, fmt.Sprintf("at byte %d", at), "%q, want a chunk's name", p[:4])
		}
		switch {
		case c.is("COMM") && common.found(), c.is("SSND") && sound.found():
			return l, c.fault(ErrCorrupt, "a second one")
		case c.is("COMM"):
			common = c
		case c.is("SSND"):
			sound = c
		default:
			l.nameAIFF(c)
		}
		if c.size > size-c.body && !c.is("SSND") {
			return l, c.fault(ErrCorrupt, "it claims %d bytes, but the file has %d more", c.size, size-c.body)
		}
		at = c.end() + c.size%2
	}
	if !common.found() {
		return l, faultf(ErrCorrupt, "", "it has no chunk %q", "COMM")
	}
	compressed := string(p[8:]) == "AIFC"
	if err := l.common(r, common, compressed); err != nil {
		return l, err
	}
	l.ignored = max(0, size-end)
	return l, l.sound(r, sound, size)
}

// nameAIFF notes the name of a chunk that says something beside the audio.
func (l *layout) nameAIFF(c chunk) {
	name := string(c.id[:])
	for len(name) > 0 && name[len(name)-1] == ' ' {
		name = name[:len(name)-1]
	}
	if !slices.Contains(aiffPlumbing, name) {
		l.beside = named(l.beside, name)
	}
}

// common reads the form of the audio. What is not compressed is the whole numbers of AIFF; AIFF-C
// names other ways.
func (l *layout) common(r io.ReaderAt, c chunk, compressed bool) error {
	want := int64(18)
	if compressed {
		want = 22
	}
	if c.size < want {
		return c.fault(ErrCorrupt, "%d bytes, want %d or more", c.size, want)
	}
	p := make([]byte, want)
	if err := readAt(r, p, c.body); err != nil {
		return err
	}
	be := binary.BigEndian
	bits := int(be.Uint16(p[6:]))
	rate, whole := extended(p[8:18])
	if !whole {
		return c.fault(ErrUnsupported, "its rate is %v Hz, want a whole number", rate)
	}
	way := "NONE"
	if compressed {
		way = string(p[18:22])
	}
	l.info = Info{Channels: int(be.Uint16(p)), Frames: int64(be.Uint32(p[2:])), Rate: int(rate)}
	if err := checkShape(l.info.Channels, l.info.Rate); err != nil {
		return err
	}
	width := (bits + 7) / 8
	switch way {
	case "NONE", "twos", "sowt":
		if width < 1 || width > 4 {
			return c.fault(ErrUnsupported, "samples of %d bits, want 8, 16, 24 or 32", bits)
		}
		l.info.Encoding = [5]Encoding{1: PCM8, 2: PCM16, 3: PCM24, 4: PCM32}[width]
	case "fl32", "FL32":
		l.info.Encoding, width = Float32, 4
	case "fl64", "FL64":
		l.info.Encoding, width = Float64, 8
	default:
		return c.fault(ErrUnsupported, "compressed as %q, want %q, %q, %q, %q or %q", way, "NONE", "twos", "sowt",
			"fl32", "fl64")
	}
	switch {
	case width == 1:
		l.fix = unsign
	case way != "sowt":
		l.fix = func(p []byte) { reverse(p, width) }
	}
	l.frame = l.info.frame()
	return nil
}

// sound finds the first frame.
func (l *layout) sound(r io.ReaderAt, c chunk, size int64) error {
	l.open = func(file io.ReaderAt, from, frames int64) (io.Reader, error) {
		return io.NewSectionReader(file, l.data+from*l.frame, frames*l.frame), nil
	}
	if !c.found() {
		if l.info.Frames > 0 {
			return faultf(ErrCorrupt, "", "it has no chunk %q", "SSND")
		}
		l.data = 12
		return nil
	}
	if c.size < 8 || size-c.body < 8 {
		return c.fault(ErrCorrupt, "%d bytes, want 8 or more", min(c.size, size-c.body))
	}
	var p [8]byte
	if err := readAt(r, p[:], c.body); err != nil {
		return err
	}
	skip := 8 + int64(binary.BigEndian.Uint32(p[:]))
	l.data = c.body + skip
	has := min(c.size, size-c.body) - skip
	if missing := l.info.Frames - max(has, 0)/l.frame; missing > 0 {
		return c.fault(ErrCorrupt, "the file claims %d frames, but has %d: %d frames are missing", l.info.Frames,
			l.info.Frames-missing, missing)
	}
	return nil
}

// extended is a number in the eighty bits that AIFF has its rate in: a sign, 15 bits of exponent, 64 of
// mantissa, the first of which is the one before the point. Whole is false where it has a fraction, or is
// none that a rate can be.
func extended(p []byte) (v float64, whole bool) {
	exponent := int(binary.BigEndian.Uint16(p)) - 16383 - 63
	mantissa := binary.BigEndian.Uint64(p[2:])
	v = math.Ldexp(float64(mantissa), exponent)
	return v, v >= 0 && v < 1<<31 && v == math.Trunc(v)
}

// reverse turns around the bytes of numbers of so many.
func reverse(p []byte, width int) {
	for ; len(p) >= width; p = p[width:] {
		for i, j := 0, width-1; i < j; i, j = i+1, j-1 {
			p[i], p[j] = p[j], p[i]
		}
	}
}
