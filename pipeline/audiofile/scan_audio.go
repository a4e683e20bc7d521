package audiofile

import "errors"

// foundFmt reads the format.
func (s *scanner) foundFmt(c chunk) error {
	if s.format.found() {
		return c.fault(ErrCorrupt, "a second one; the first is at byte %d", s.format.at)
	}
	p := make([]byte, min(c.size, fmtSize))
	if err := readAt(s.r, p, c.body); err != nil {
		return err
	}
	info, err := parseFmt(p)
	if f := (*fault)(nil); errors.As(err, &f) {
		f.place = c.place()
	}
	s.format, s.info = c, info
	return err
}

// foundData checks the data chunk's size and returns the chunk with the size settled that
// its writer did not know.
func (s *scanner) foundData(c chunk) (chunk, error) {
	if s.data.found() {
		return c, c.fault(ErrCorrupt, "a second one; the first is at byte %d", s.data.at)
	}
	rest := s.size - c.body
	if s.open = s.unknown(c); s.open {
		if !s.format.found() {
			return c, c.fault(ErrCorrupt, "its size is not known and no chunk %q comes before it", "fmt ")
		}
		c.size = rest - rest%s.info.frame()
	}
	if c.size > rest && s.format.found() {
		claims, has := c.size/s.info.frame(), rest/s.info.frame()
		return c, c.fault(ErrCorrupt, "it claims %d frames, but the file has %d: %d frames are missing", claims,
			has, claims-has)
	}
	s.data = c
	return c, nil
}

// unknown says whether the size of the data chunk c was never filled in. A size of 0
// is true where nothing but whole chunks follows.
func (s *scanner) unknown(c chunk) bool {
	switch c.size {
	case 0:
		return !s.chunksFollow(c.body)
	case elsewhere:
		return s.long == nil
	}
	return c.size == unknownSize
}

// chunksFollow says whether there are whole chunks from offset at to the end of the file.
func (s *scanner) chunksFollow(at int64) bool {
	for n := 0; at < s.size && n < maxChunks; n++ {
		c, err := s.header(at)
		if err != nil || s.fits(c) != nil {
			return false
		}
		at = s.next(c)
	}
	return at >= s.size
}

// finish puts together what the walk, which ended at offset at, has found.
func (s *scanner) finish(at int64) (layout, error) {
	switch {
	case !s.format.found():
		return layout{}, faultf(ErrCorrupt, "", "it has no chunk %q", "fmt ")
	case !s.data.found():
		return layout{}, faultf(ErrCorrupt, "", "it has no chunk %q", "data")
	}
	d, frame := s.data, s.info.frame()
	if over := d.size % frame; over != 0 {
		return layout{}, d.fault(ErrCorrupt, "%d bytes are %d frames of %d bytes and %d bytes of another: it "+
			"ends within a frame",
			d.size, d.size/frame, frame, over)
	}
	l := layout{info: s.info, frame: frame, data: d.body, beside: s.beside, carried: s.carried}
	l.info.Frames = d.size / frame
	if !s.open {
		l.ignored = max(0, s.size-at)
	}
	// A 32-bit size that ran over starts again from 0.
	if s.long == nil && l.ignored > elsewhere {
		return layout{}, d.fault(ErrCorrupt, "it claims %d frames, but the file goes on for %d bytes: a size "+
			"beyond 4 GiB needs an RF64 header",
			l.info.Frames, l.ignored)
	}
	return l, nil
}
