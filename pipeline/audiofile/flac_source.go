package audiofile

import (
	"bytes"
	"crypto/md5"
	"errors"
	"fmt"
	"hash"
	"io"

	"ledgerline/pipeline/audiofile/flac"
)

// flacSource reads the frames of a FLAC file as samples, interleaved, low byte first and left-justified.
type flacSource struct {
	file    io.ReaderAt
	info    flac.Info
	at      int64 // offset in the file of what is read next
	size    int64 // of the file
	decoder *flac.Decoder
	window  []byte // what was read of the file, with slack after it
	have    []byte // what of the window is not decoded yet
	next    int64  // the sample that the next frame begins with
	md5     hash.Hash
	pcm     []byte // one frame's samples
	left    []byte // what of them was not handed out
}

func newFlacSource(file io.ReaderAt, info flac.Info, data, size int64) *flacSource {
	return &flacSource{
		file: file, info: info, at: data, size: size, decoder: flac.NewDecoder(info), md5: md5.New(),
	}
}

func (s *flacSource) Read(p []byte) (n int, err error) {
	for n < len(p) {
		if len(s.left) == 0 {
			if s.next == s.info.Frames {
				return n, io.EOF
			}
			if err := s.frame(); err != nil {
				return n, in("FLAC", err)
			}
		}
		k := copy(p[n:], s.left)
		n, s.left = n+k, s.left[k:]
	}
	return n, nil
}

// frame reads the next frame.
func (s *flacSource) frame() error {
	if err := s.fill(); err != nil {
		return err
	}
	at := s.at - int64(len(s.have))
	samples, n, err := s.decoder.Frame(s.have, s.next)
	if err != nil {
		return s.broken(at, err)
	}
	s.have = s.have[n:]
	if s.next += int64(len(samples[0])); s.next > s.info.Frames {
		return faultf(ErrCorrupt, fmt.Sprintf("frame at byte %d", at),
			"it goes on beyond the %d frames that the file claims", s.info.Frames)
	}
	width := (s.info.Bits + 7) / 8
	s.pack(samples, width, 0)
	s.md5.Write(s.pcm)
	if s.next == s.info.Frames && s.info.MD5 != [16]byte{} && !bytes.Equal(s.md5.Sum(nil), s.info.MD5[:]) {
		return faultf(ErrCorrupt, "", "its samples are not those that were encoded: their MD5 is %x, want %x; "+
			"copy or encode it again", s.md5.Sum(nil), s.info.MD5)
	}
	if shift := 8*width - s.info.Bits; shift > 0 {
		s.pack(samples, width, shift)
	}
	s.left = s.pcm
	return nil
}

// fill makes sure that have has all of the next frame, if the file does.
func (s *flacSource) fill() error {
	most := s.decoder.MostBytes()
	if s.window == nil {
		s.window = make([]byte, min(int64(most+bufferBytes), s.size-s.at)+flac.Slack)
		s.have = s.window[:0]
	}
	if len(s.have) >= most || s.at == s.size {
		return nil
	}
	kept := copy(s.window, s.have)
	n := min(int64(len(s.window)-flac.Slack-kept), s.size-s.at)
	if err := readAt(s.file, s.window[kept:kept+int(n)], s.at); err != nil {
		if errors.Is(err, io.ErrUnexpectedEOF) {
			return faultf(ErrCorrupt, "", "it got shorter while it was being read: %d of %d frames are missing",
				s.info.Frames-s.next, s.info.Frames)
		}
		return err
	}
	s.at += n
	s.have = s.window[:kept+int(n)]
	return nil
}

// broken is the error for the frame at an offset that cannot be read.
func (s *flacSource) broken(at int64, err error) error {
	if s.at == s.size && flac.Short(err) {
		return faultf(ErrCorrupt, "", "%d of %d frames are missing: the file ends within its frame at byte %d; "+
			"copy or encode it again",
			s.info.Frames-s.next, s.info.Frames, at)
	}
	return faultf(ErrCorrupt, fmt.Sprintf("frame at byte %d", at), "%v; copy or encode it again", err)
}

// pack makes bytes of samples, so many for each, shifted up.
func (s *flacSource) pack(samples [][]int64, width, shift int) {
	n := len(samples[0])
	apart := width * len(samples)
	if need := n * apart; cap(s.pcm) < need {
		s.pcm = make([]byte, need)
	}
	s.pcm = s.pcm[:n*apart]
	for c, x := range samples {
		o := c * width
		for _, v := range x {
			v <<= shift
			for k := range width {
				s.pcm[o+k] = byte(v >> (8 * k))
			}
			o += apart
		}
	}
}
