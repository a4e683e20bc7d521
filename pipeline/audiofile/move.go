package audiofile

import (
	"fmt"
	"io"
)

// MoveTo makes frame the next one to be read: 0 to Info().Frames. What was read so far is hashed no further.
func (r *Reader) MoveTo(frame int64) error {
	if frame < 0 || frame > r.at.info.Frames {
		return fmt.Errorf("%s: frame %d is not one of its %d", r.path, frame, r.at.info.Frames)
	}
	if r.err == io.EOF {
		r.err = nil
	}
	if r.err != nil {
		return r.err
	}
	r.hash, r.hashed = nil, 0
	r.next, r.left, r.have = frame, 0, nil
	return nil
}
