package audiofile

import (
	"crypto/md5"
	"fmt"
	"hash"

	"ledgerline/pipeline/audiofile/flac"
	"ledgerline/pipeline/whole"
)

// vendor is the program that files name as their maker. It has no version, which would change the bytes of a
// file whose audio is the same.
const vendor = "Ledgerline"

// seekSeconds is how far apart the points of a seek table are.
const seekSeconds = 10

// flacBody is the body of a FLAC file. What is before its frames is written twice: at first to keep its
// place, and at the end with what is known only then.
type flacBody struct {
	file    *whole.File
	info    flac.Info
	blocks  []flac.Block // before the frames, after the seek table
	places  int          // for points in the seek table
	points  []flac.Point
	encoder *flac.Encoder
	md5     hash.Hash
	block   [][]int32 // the block that is being filled
	have    int       // frames of it
	number  int64     // of the block
	frame   []byte
	head    int64 // bytes before the frames
	size    int64 // bytes of the frames so far
}

func newFlacBody(file *whole.File, f Info, beside Beside) (*flacBody, error) {
	b := &flacBody{file: file, md5: md5.New()}
	b.info.Format = flac.Format{Rate: f.Rate, Channels: f.Channels, Bits: f.Encoding.WordBits()}
	b.info.BlockMin, b.info.BlockMax, b.info.Frames = flac.BlockFrames, flac.BlockFrames, f.Frames
	b.encoder = flac.NewEncoder(b.info.Format)
	b.block = make([][]int32, f.Channels)
	for c := range b.block {
		b.block[c] = make([]int32, flac.BlockFrames)
	}
	apart := int64(seekSeconds * f.Rate)
	b.places = int((f.Frames + apart - 1) / apart)
	b.blocks = []flac.Block{flac.Commented(vendor, append(beside.Tags.comments(), maskComment(f)...))}
	p := b.before()
	b.head = int64(len(p))
	_, err := file.Write(p)
	return b, err
}

// measured does nothing: there is no place for figures of loudness.
func (b *flacBody) measured(Loudness) {}

// maskComment says which loudspeakers the channels are for, where that is not what their number says. The
// name is the one in use: RFC 9639, 8.6.2.
func maskComment(f Info) []flac.Comment {
	if f.Mask == usualMask(f.Channels) || f.Mask == 0 && f.Channels <= 2 {
		return nil
	}
	return []flac.Comment{{Name: maskName, Text: fmt.Sprintf("0x%04X", f.Mask)}}
}

const maskName = "WAVEFORMATEXTENSIBLE_CHANNEL_MASK"

// usualMask is which loudspeakers the channels of a FLAC file are for: RFC 9639, 9.1.3.
func usualMask(channels int) uint32 {
	return [flac.MaxChannels + 1]uint32{0, 0x4, 0x3, 0x7, 0x33, 0x37, 0x3F, 0x70F, 0x63F}[channels]
}

// before is all that is before the frames, as far as it is known.
func (b *flacBody) before() []byte {
	blocks := b.blocks
	if b.places > 0 {
		blocks = append([]flac.Block{flac.Seek(b.points, b.places)}, blocks...)
	}
	return flac.Head(b.info, blocks)
}

func (b *flacBody) write(p []byte) error {
	b.md5.Write(p)
	width := b.info.Bits / 8
	frame := width * len(b.block)
	for len(p) > 0 {
		n := min(len(p)/frame, flac.BlockFrames-b.have)
		for c, x := range b.block {
			unpack(x[b.have:b.have+n], p[c*width:], width, frame)
		}
		b.have, p = b.have+n, p[n*frame:]
		if b.have == flac.BlockFrames {
			if err := b.flush(); err != nil {
				return err
			}
		}
	}
	return nil
}

// unpack fills x with numbers of so many bytes, low byte first, which are so far apart.
func unpack(x []int32, p []byte, width, apart int) {
	o := 0
	switch width {
	case 2:
		for i := range x {
			x[i] = int32(int16(uint16(p[o]) | uint16(p[o+1])<<8))
			o += apart
		}
	case 3:
		for i := range x {
			s := p[o : o+3 : o+3]
			x[i] = int32(uint32(s[0])<<8|uint32(s[1])<<16|uint32(s[2])<<24) >> 8
			o += apart
		}
	case 4:
		for i := range x {
			s := p[o : o+4 : o+4]
			x[i] = int32(uint32(s[0]) | uint32(s[1])<<8 | uint32(s[2])<<16 | uint32(s[3])<<24)
			o += apart
		}
	}
}

// flush writes the block as a frame.
func (b *flacBody) flush() error {
	view := make([][]int32, len(b.block))
	for c, x := range b.block {
		view[c] = x[:b.have]
	}
	b.frame = b.encoder.Append(b.frame[:0], view, b.number)
	first := b.number * flac.BlockFrames
	if apart := int64(seekSeconds * b.info.Rate); int64(len(b.points))*apart < first+int64(b.have) {
		b.points = append(b.points, flac.Point{Sample: first, Offset: b.size, Frames: b.have})
	}
	if n := len(b.frame); b.number == 0 {
		b.info.SizeMin, b.info.SizeMax = n, n
	} else {
		b.info.SizeMin, b.info.SizeMax = min(b.info.SizeMin, n), max(b.info.SizeMax, n)
	}
	b.number, b.have, b.size = b.number+1, 0, b.size+int64(len(b.frame))
	_, err := b.file.Write(b.frame)
	return err
}

func (b *flacBody) finish() (string, error) {
	if b.have > 0 {
		if err := b.flush(); err != nil {
			return "", err
		}
	}
	b.md5.Sum(b.info.MD5[:0])
	if _, err := b.file.WriteAt(b.before(), 0); err != nil {
		return "", err
	}
	return sumOf(b.file, b.head+b.size)
}
