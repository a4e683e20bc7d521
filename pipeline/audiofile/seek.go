package audiofile

import (
	"fmt"
	"io"
)

// Coded says whether a frame is found only by decoding all before it, so that SeekFrame takes long.
func (r *Reader) Coded() bool { return r.at.coded }

// SeekFrame makes frame the next one to be read: 0 to Info().Frames. What was read so far is hashed no
// further.
func (r *Reader) SeekFrame(frame int64) error {
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
