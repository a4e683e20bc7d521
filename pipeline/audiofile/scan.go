package audiofile

import (
	"encoding/binary"
	"fmt"
	"io"

	"ledgerline/pipeline/audiofile/flac"
)

// maxChunks bounds how long a hostile file can keep the scan busy.
const maxChunks = 10000

// layout is where the audio of a file is, and its format.
type layout struct {
	info    Info
	frame   int64    // bytes a frame
	data    int64    // offset of the first frame
	ignored int64    // bytes after the end that the header gives
	beside  []string // the chunks that Reader.Chunks names

	carried []chunk // that Reader.Carried reads

	// reads frames as the file stores them; nil: those of WAV
	open  func(file io.ReaderAt, from, frames int64) (io.Reader, error)
	fix   func(p []byte) // makes them those of WAV; nil: they are
	coded bool           // what open reads is not what the file has
}

// chunk is one chunk of a file, its size as the file has it.
type chunk struct {
	id   [4]byte
	at   int64 // offset of its header
	body int64 // offset of its payload
	size int64 // of the payload, without the pad byte
}

func (c chunk) is(name string) bool { return string(c.id[:]) == name }

func (c chunk) found() bool { return c.body != 0 }

// end is the offset after the payload.
func (c chunk) end() int64 { return c.body + c.size }

func (c chunk) place() string { return fmt.Sprintf("chunk %q at byte %d", string(c.id[:]), c.at) }

// fault is an error of the given kind with the chunk's name and place.
func (c chunk) fault(kind error, format string, args ...any) error {
	return faultf(kind, c.place(), format, args...)
}

// scanner walks the chunks of a file.
type scanner struct {
	r    io.ReaderAt
	size int64   // of the file
	riff int64   // offset after what the header says is the file
	long *ds64   // nil in a plain RIFF file
	head [8]byte // the chunk header being read

	format, data chunk // as far as found
	info         Info
	open         bool     // the data chunk goes on to the end of the file
	beside       []string // the chunks that Reader.Chunks names
	carried      []chunk  // those that Reader.Carried reads
}

// scan checks a file of that size and finds its audio.
func scan(r io.ReaderAt, size int64) (layout, error) {
	var p [12]byte
	n := min(size, int64(len(p)))
	if err := readAt(r, p[:n], 0); err != nil {
		return layout{}, err
	}
	switch start, form := string(p[:4]), string(p[8:]); {
	case start == flac.Magic, start[:3] == "ID3":
		l, err := scanFLAC(r, size)
		return l, in("FLAC", err)
	case start == "FORM" && (form == "AIFF" || form == "AIFC"):
		l, err := scanAIFF(r, size)
		return l, in("AIFF", err)
	}
	return scanWAV(r, size)
}

// scanWAV checks every chunk of a file of that size and finds its audio. What
// comes after the end that the header gives is not part of the file, and is not looked at
// once the audio has been found.
func scanWAV(r io.ReaderAt, size int64) (layout, error) {
	s := &scanner{r: r, size: size}
	at, err := s.start()
	if err != nil {
		return layout{}, err
	}
	for n := 0; at+8 <= s.size && !s.done(at); n++ {
		if n == maxChunks {
			return layout{}, faultf(ErrUnsupported, fmt.Sprintf("at byte %d", at), "more than %d chunks", maxChunks)
		}
		if at, err = s.step(at); err != nil {
			return layout{}, err
		}
	}
	return s.finish(at)
}

// done says whether nothing from offset at on matters any more.
func (s *scanner) done(at int64) bool {
	return s.open || s.format.found() && s.data.found() && at >= s.riff
}

// header reads the chunk header at offset at and looks up its size.
func (s *scanner) header(at int64) (chunk, error) {
	p := s.head[:]
	if at+8 > s.size {
		return chunk{}, faultf(ErrCorrupt, fmt.Sprintf("at byte %d", at),
			"the file ends where a chunk should begin")
	}
	if err := readAt(s.r, p, at); err != nil {
		return chunk{}, err
	}
	c := chunk{[4]byte(p), at, at + 8, int64(binary.LittleEndian.Uint32(p[4:]))}
	if !printable(c.id) {
		return c, faultf(ErrCorrupt, fmt.Sprintf("at byte %d", at), "%q, want a chunk's name", string(c.id[:]))
	}
	if s.long != nil && c.size == elsewhere {
		c.size = s.long.sizeOf(c)
	}
	return c, nil
}

// step checks the chunk at offset at and returns the offset of the next one.
func (s *scanner) step(at int64) (int64, error) {
	c, err := s.header(at)
	if err != nil {
		return 0, err
	}
	if c.is("data") {
		if c, err = s.foundData(c); err != nil {
			return 0, err
		}
	}
	if err := s.fits(c); err != nil {
		return 0, err
	}
	if c.is("fmt ") {
		if err := s.foundFmt(c); err != nil {
			return 0, err
		}
	}
	s.note(c)
	s.carry(c)
	return s.next(c), nil
}

// fits says whether the file has all of the chunk.
func (s *scanner) fits(c chunk) error {
	if c.size > s.size-c.body {
		return c.fault(ErrCorrupt, "it claims %d bytes, but the file has %d more", c.size, s.size-c.body)
	}
	return nil
}

// next is the offset after c and its pad byte. A chunk of odd size must be
// followed by a pad byte, which some writers leave out.
func (s *scanner) next(c chunk) int64 {
	end := c.end()
	if c.size%2 == 1 && (s.leads(end+1) || !s.leads(end)) {
		end++
	}
	return end
}

// leads says whether offset at is the file's end, or that of a chunk that is itself
// followed by another one or by the file's end.
func (s *scanner) leads(at int64) bool {
	end, ok := s.plausible(at)
	if !ok || end == at {
		return ok
	}
	_, even := s.plausible(end)
	_, padded := s.plausible(end + 1)
	return even || padded
}

// plausible says whether a chunk or the file's end can be at offset at, and where
// that chunk would end.
func (s *scanner) plausible(at int64) (end int64, ok bool) {
	if at == s.size || at == s.riff {
		return at, true
	}
	c, err := s.header(at)
	if err != nil || s.fits(c) != nil {
		return 0, false
	}
	return c.end(), true
}

// printable says whether id is made of the characters that a chunk's name may have.
func printable(id [4]byte) bool {
	for _, b := range id {
		if b < ' ' || b > '~' {
			return false
		}
	}
	return true
}
