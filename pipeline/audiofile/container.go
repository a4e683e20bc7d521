package audiofile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"github.com/go-audio/wav"
)

// windowBytes bounds the data of one rebuilt stream: the container library
// counts in 32 bits.
const windowBytes = 1 << 30

// rebuilt is a stream of a plain header and a stretch of a file's audio. The
// container library trusts the sizes it reads, and allocates what they ask for; it is
// given this one, whose sizes have been checked, instead of the file.
type rebuilt struct {
	header []byte
	file   io.ReaderAt
	data   int64 // offset of the stretch in the file
}

func (s *rebuilt) ReadAt(p []byte, off int64) (int, error) {
	n := 0
	if head := int64(len(s.header)); off < head {
		n = copy(p, s.header[off:])
		off = head
	}
	if n == len(p) {
		return n, nil
	}
	m, err := s.file.ReadAt(p[n:], s.data+off-int64(len(s.header)))
	return n + m, err
}

// openPCM is a stream of the frames [from, from+frames) of a file as it stores them. They
// have at most windowBytes.
func openPCM(file io.ReaderAt, l layout, from, frames int64) (io.Reader, error) {
	s := &rebuilt{plainHeader(l, frames), file, l.data + from*l.frame}
	size := frames * l.frame
	d := wav.NewDecoder(io.NewSectionReader(s, 0, int64(len(s.header))+size))
	if err := d.FwdToPCM(); err != nil {
		return nil, err
	}
	if err := d.Err(); err != nil {
		return nil, err
	}
	if d.PCMChunk == nil {
		return nil, errors.New("internal error: no audio in a rebuilt stream")
	}
	if int(d.NumChans) != l.info.Channels || int(d.SampleRate) != l.info.Rate || d.PCMLen() != size+size%2 {
		return nil, fmt.Errorf("internal error: a rebuilt stream reads as %d channels, %d Hz, %d bytes",
			d.NumChans, d.SampleRate, d.PCMLen())
	}
	return d.PCMChunk.R, nil
}

// plainHeader is the header of a file of that many frames of l's audio.
func plainHeader(l layout, frames int64) []byte {
	f := l.info
	f.Frames, f.Mask = frames, 0
	size := uint32(frames * l.frame)
	le := binary.LittleEndian
	h := le.AppendUint32([]byte("RIFF"), 36+size+size%2)
	h = appendFmt(append(h, "WAVEfmt \x10\x00\x00\x00"...), f, f.Encoding.tag())
	return le.AppendUint32(append(h, "data"...), size)
}
