package flac

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// Info is what a stream begins with: RFC 9639, 8.2.
type Info struct {
	Format
	BlockMin, BlockMax int      // frames of a block; the last may have fewer
	SizeMin, SizeMax   int      // bytes of a frame; 0: not known
	Frames             int64    // samples of each channel; 0: not known
	MD5                [16]byte // of the samples, interleaved, low byte first; zeros: not known
}

// Magic is what every file of a stream begins with.
const Magic = "fLaC"

// The types of blocks before the frames: RFC 9639, 8.1.
const (
	streamInfo = iota
	Padding
	Application
	SeekTable
	Comments
	Cuesheet
	Picture
)

const (
	infoBytes  = 34
	pointBytes = 18
)

// Block is one of the blocks before the frames, besides the first.
type Block struct {
	Type int
	Data []byte
}

// MaxBlockBytes is the most that a block before the frames can hold.
const MaxBlockBytes = 1<<24 - 1

// Head is all that is before the frames of a file. No block's data may be longer than MaxBlockBytes.
func Head(info Info, blocks []Block) []byte {
	p := appendBlock([]byte(Magic), streamInfo, len(blocks) == 0, info.bytes())
	for i, b := range blocks {
		p = appendBlock(p, b.Type, i == len(blocks)-1, b.Data)
	}
	return p
}

func appendBlock(p []byte, kind int, last bool, data []byte) []byte {
	head := uint32(kind)<<24 | uint32(len(data))
	if last {
		head |= 1 << 31
	}
	return append(binary.BigEndian.AppendUint32(p, head), data...)
}

func (f Info) bytes() []byte {
	var w bitWriter
	w.put(uint64(f.BlockMin), 16)
	w.put(uint64(f.BlockMax), 16)
	w.put(uint64(f.SizeMin), 24)
	w.put(uint64(f.SizeMax), 24)
	w.put(uint64(f.Rate), 20)
	w.put(uint64(f.Channels-1), 3)
	w.put(uint64(f.Bits-1), 5)
	w.put(uint64(f.Frames), 36)
	return append(w.out, f.MD5[:]...)
}

// ParseInfo reads the block that a stream begins with.
func ParseInfo(p []byte) (Info, error) {
	if len(p) != infoBytes {
		return Info{}, fmt.Errorf("%d bytes, want %d", len(p), infoBytes)
	}
	r := bitReader{in: append(p[:18:18], make([]byte, slack)...), end: 18 * 8}
	f := Info{
		BlockMin: int(r.read(16)), BlockMax: int(r.read(16)), SizeMin: int(r.read(24)), SizeMax: int(r.read(24)),
	}
	f.Format = Format{Rate: int(r.read(20)), Channels: int(r.read(3)) + 1, Bits: int(r.read(5)) + 1}
	f.Frames = int64(r.read(36))
	f.MD5 = [16]byte(p[18:])
	switch {
	case f.BlockMin < 16 || f.BlockMax < f.BlockMin:
		return f, fmt.Errorf("blocks of %d to %d frames, want 16 to %d", f.BlockMin, f.BlockMax, maxBlock)
	case f.Bits < 4:
		return f, fmt.Errorf("samples of %d bits, want 4 to 32", f.Bits)
	}
	return f, nil
}

// Point tells where a frame is.
type Point struct {
	Sample int64 // the first of its block
	Offset int64 // bytes from the first frame
	Frames int   // of its block
}

// Seek is the block of points, with empty places after them up to the given number.
func Seek(points []Point, places int) Block {
	p := make([]byte, 0, places*pointBytes)
	for _, at := range points {
		p = binary.BigEndian.AppendUint64(p, uint64(at.Sample))
		p = binary.BigEndian.AppendUint64(p, uint64(at.Offset))
		p = binary.BigEndian.AppendUint16(p, uint16(at.Frames))
	}
	for len(p) < places*pointBytes {
		p = append(binary.BigEndian.AppendUint64(p, 1<<64-1), make([]byte, 10)...)
	}
	return Block{SeekTable, p}
}

// Comment is one text of a stream, such as ARTIST.
type Comment struct{ Name, Text string }

// Commented is the block of comments, and of the name of the program that made the stream: RFC 9639, 8.6.
func Commented(vendor string, all []Comment) Block {
	le := binary.LittleEndian
	p := append(le.AppendUint32(nil, uint32(len(vendor))), vendor...)
	p = le.AppendUint32(p, uint32(len(all)))
	for _, c := range all {
		text := c.Name + "=" + c.Text
		p = append(le.AppendUint32(p, uint32(len(text))), text...)
	}
	return Block{Comments, p}
}

// ParseComments reads what Commented makes.
func ParseComments(p []byte) (all []Comment, err error) {
	take := func() (text []byte, ok bool) {
		if len(p) < 4 {
			return nil, false
		}
		n := binary.LittleEndian.Uint32(p)
		if p = p[4:]; uint64(n) > uint64(len(p)) {
			return nil, false
		}
		text, p = p[:n], p[n:]
		return text, true
	}
	short := errors.New("the comments end within one")
	if _, ok := take(); !ok || len(p) < 4 {
		return nil, short
	}
	n := binary.LittleEndian.Uint32(p)
	p = p[4:]
	for range n {
		text, ok := take()
		if !ok {
			return all, short
		}
		for i, b := range text {
			if b == '=' {
				all = append(all, Comment{string(text[:i]), string(text[i+1:])})
				break
			}
		}
	}
	return all, nil
}
