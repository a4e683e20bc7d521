package audiofile

import (
	"encoding/binary"

	"ledgerline/pipeline/audiofile/flac"
)

// start reads the file's first twelve bytes and, in RF64, the ds64 chunk that must
// follow. It returns the offset of the next chunk.
func (s *scanner) start() (int64, error) {
	var p [12]byte
	n := min(s.size, int64(len(p)))
	if err := readAt(s.r, p[:n], 0); err != nil {
		return 0, err
	}
	id, form := string(p[:min(n, 4)]), string(p[8:])
	switch {
	case n == 0:
		return 0, faultf(ErrNotAudio, "", "it is empty")
	case id == "RIFX":
		return 0, faultf(ErrUnsupported, "", "it starts with %q (big endian), want %q", id, "RIFF")
	case id != "RIFF" && id != "RF64" && id != "BW64":
		return 0, faultf(ErrNotAudio, "", "it starts with %q, want %q, %q, %q, %q or %q", id, "RIFF", "RF64",
			"BW64", flac.Magic, "FORM")
	case n < 12:
		return 0, faultf(ErrCorrupt, "", "it ends after %d bytes, within its first header", n)
	case form != "WAVE":
		return 0, faultf(ErrNotAudio, "at byte 8", "%q, want %q", form, "WAVE")
	}
	riff := int64(binary.LittleEndian.Uint32(p[4:]))
	if id != "RIFF" {
		return s.startLong(id, riff)
	}
	if riff == elsewhere {
		riff = 0
	}
	s.setEnd(riff)
	return 12, nil
}

// startLong reads the ds64 chunk of an RF64 or BW64 file.
func (s *scanner) startLong(form string, riff int64) (int64, error) {
	c, err := s.header(12)
	if err != nil {
		return 0, err
	}
	if !c.is("ds64") {
		return 0, c.fault(ErrCorrupt, "want %q as the first chunk of an %s file", "ds64", form)
	}
	if err := s.fits(c); err != nil {
		return 0, err
	}
	if s.long, err = readDS64(s.r, c); err != nil {
		return 0, err
	}
	if riff == elsewhere {
		riff = s.long.riff
	}
	s.setEnd(riff)
	return s.next(c), nil
}

// setEnd notes the size that the header gives the file: 0 = its writer did not
// know it. A header that names more than there is says no more than the chunks will.
func (s *scanner) setEnd(riff int64) {
	if s.riff = s.size; riff != 0 && riff < s.size-8 {
		s.riff = riff + 8
	}
}
