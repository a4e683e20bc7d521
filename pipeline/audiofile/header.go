package audiofile

import "encoding/binary"

// longFrom is the largest file with a RIFF header; a larger one is RF64. A
// 32-bit size field would do for a few bytes more.
const longFrom = 1 << 32

// header is everything of a file of f before its first frame, with the given chunks beside its audio, and
// whether a pad byte follows its last frame. A file of more than limit bytes becomes RF64.
//
// One or two channels get the plain header, which every program reads, at any
// word length: WAVEFORMATEXTENSIBLE asks for its own header beyond 16 bits too, but a plain
// one is as unambiguous there. More than two channels, or a channel mask that says
// more than mono or stereo, get the extensible one. Float files carry a fact chunk,
// as all that is not PCM must.
func header(f Info, beside []byte, limit int64) (head []byte, pad bool) {
	le := binary.LittleEndian
	size := f.Frames * f.frame()
	pad = size%2 == 1
	format := append(formatChunk(f), beside...)
	total := 12 + int64(len(format)) + 8 + size + size%2
	if f.Encoding.float() {
		total += 12
	}
	if total <= limit {
		head = append(le.AppendUint32([]byte("RIFF"), uint32(total-8)), "WAVE"...)
		return appendTail(append(head, format...), f, uint32(f.Frames), uint32(size)), pad
	}
	total += 8 + ds64Size
	head = append(le.AppendUint32([]byte("RF64"), elsewhere), "WAVE"...)
	head = le.AppendUint32(append(head, "ds64"...), ds64Size)
	head = le.AppendUint64(head, uint64(total-8))
	head = le.AppendUint64(head, uint64(size))
	head = le.AppendUint64(head, uint64(f.Frames))
	head = le.AppendUint32(head, 0) // no table
	return appendTail(append(head, format...), f, elsewhere, elsewhere), pad
}

// appendTail appends what is between the fmt chunk and the first frame.
func appendTail(head []byte, f Info, frames, size uint32) []byte {
	le := binary.LittleEndian
	if f.Encoding.float() {
		head = le.AppendUint32(append(head, "fact\x04\x00\x00\x00"...), frames)
	}
	return le.AppendUint32(append(head, "data"...), size)
}

// formatChunk is the fmt chunk of a file of f.
func formatChunk(f Info) []byte {
	c := []byte("fmt ")
	le := binary.LittleEndian
	switch {
	case f.extensible():
		c = appendFmt(le.AppendUint32(c, fmtSize), f, tagExtensible)
		c = le.AppendUint16(c, fmtSize-18)
		c = le.AppendUint16(c, uint16(f.bits()))
		c = le.AppendUint32(c, f.Mask)
		c = append(le.AppendUint16(c, f.Encoding.tag()), subFormatTail...)
	case f.Encoding.float():
		c = appendFmt(le.AppendUint32(c, 18), f, tagFloat)
		c = le.AppendUint16(c, 0) // no extension, which all that is not PCM must say
	default:
		c = appendFmt(le.AppendUint32(c, 16), f, tagPCM)
	}
	return c
}

// appendFmt appends the sixteen bytes that every fmt chunk begins with.
func appendFmt(c []byte, f Info, tag uint16) []byte {
	le := binary.LittleEndian
	c = le.AppendUint16(c, tag)
	c = le.AppendUint16(c, uint16(f.Channels))
	c = le.AppendUint32(c, uint32(f.Rate))
	c = le.AppendUint32(c, uint32(int64(f.Rate)*f.frame()))
	c = le.AppendUint16(c, uint16(f.frame()))
	return le.AppendUint16(c, uint16(f.bits()))
}

// extensible says whether f needs the extensible header. A mask of the one front
// centre, or of front left and right, says what a plain header says.
func (f Info) extensible() bool {
	const frontCentre, frontPair = 0x4, 0x3
	switch f.Channels {
	case 1:
		return f.Mask != 0 && f.Mask != frontCentre
	case 2:
		return f.Mask != 0 && f.Mask != frontPair
	}
	return true
}

// bits is the length of a sample.
func (f Info) bits() int {
	c, _ := f.Encoding.codec()
	return 8 * c.size
}

// frame is the number of bytes of a frame.
func (f Info) frame() int64 { return int64(f.Channels * f.bits() / 8) }
