package audiofile

import (
	"errors"
	"fmt"
	"math"
	"os"

	"ledgerline/pipeline/audiofile/flac"
	"ledgerline/pipeline/whole"
	"ledgerline/stages"
)

// Writer writes one file. It is not safe for use by several goroutines at once.
type Writer struct {
	path string
	info Info
	file *whole.File
	err  error // the first one, which stays

	encode  encoder
	to      body
	frames  int64 // written
	limited int64
	buf     *[bufferBytes]byte
	used    int          // bytes of buf not yet in the file
	view    stages.Block // the part of a caller's block that is being written
	ended   bool         // nothing but its place is missing
	sum     string       // of the file that has ended
}

// Create starts a file of f.Frames frames at path, in a folder that exists. A file of more
// than 4 GiB is RF64. Nothing is to be seen at path before Commit, which replaces
// what is there, a link itself and not what it points to. The caller must end
// with Commit or Abort.
func Create(path string, f Info) (*Writer, error) { return create(path, f, Beside{}, longFrom) }

// CreateWith is Create for a file in a container, with what it is to have beside its audio.
func CreateWith(path string, f Info, b Beside) (*Writer, error) { return create(path, f, b, longFrom) }

// Beside is what a file is to have beside its audio.
type Beside struct {
	Container Container // empty: WAV
	Tags      Tags
	Chunks    []Chunk // carried over; a FLAC file has no place for them
	// of a bext chunk: a line for what the mix is and one for each step since, as EBU R 98 has them
	History []string
}

// body is the part of a file that a Writer fills, from the first frame on.
type body interface {
	// write adds whole frames in the file's encoding, interleaved, low byte first.
	write(p []byte) error
	// finish ends the file after its last frame, and returns its hash.
	finish() (sum string, err error)
	// measured tells what the audio reads, before finish.
	measured(Loudness)
}

func create(path string, f Info, b Beside, limit int64) (*Writer, error) {
	if err := checkOutput(f, b.Container); err != nil {
		return nil, of(path, err)
	}
	to, err := whole.Create(path)
	if err != nil {
		return nil, of(path, err)
	}
	c, _ := f.Encoding.codec()
	w := &Writer{
		path: path, info: f, file: to,
		encode: c.encode,
		buf:    buffers.Get().(*[bufferBytes]byte),
		view:   make(stages.Block, f.Channels),
	}
	if b.Container == FLAC {
		w.to, err = newFlacBody(to, f, b)
	} else {
		w.to, err = newWAVBody(to, f, b, limit)
	}
	if err != nil {
		w.Abort()
		return nil, of(path, err)
	}
	return w, nil
}

func checkOutput(f Info, c Container) error {
	if !f.Encoding.writable() {
		return fmt.Errorf("encoding %q, want one of %q", f.Encoding, OutputEncodings())
	}
	if !c.Holds(f.Encoding) {
		return fmt.Errorf("encoding %q, which a %s file cannot have", f.Encoding, c)
	}
	if err := c.Fits(f.Channels); err != nil {
		return err
	}
	if c == FLAC && f.Frames > flac.MaxFrames {
		return fmt.Errorf("%d frames, want %d at most in a %s file", f.Frames, int64(flac.MaxFrames), c)
	}
	if err := checkShape(f.Channels, f.Rate); err != nil {
		return errors.New(err.(*fault).text)
	}
	if most := math.MaxInt64 / 2 / f.frame(); f.Frames < 0 || f.Frames > most {
		return fmt.Errorf("%d frames, want 0 to %d", f.Frames, most)
	}
	return nil
}

// Write adds the frames of b, which has as many channels as the file.
func (w *Writer) Write(b stages.Block) error {
	if w.err != nil {
		return w.err
	}
	n := b.Frames()
	switch {
	case len(b) != len(w.view):
		return w.fail(fmt.Errorf("a block of %d channels for a file of %d", len(b), len(w.view)))
	case int64(n) > w.info.Frames-w.frames:
		return w.fail(fmt.Errorf("more than the announced %d frames", w.info.Frames))
	}
	frame := int(w.info.frame())
	for at := 0; at < n; {
		k := min((bufferBytes-w.used)/frame, n-at)
		if k == 0 {
			if err := w.flush(); err != nil {
				return err
			}
			continue
		}
		for c := range w.view {
			w.view[c] = b[c][at : at+k]
		}
		w.limited += w.encode(w.buf[w.used:w.used+k*frame], w.view)
		w.used += k * frame
		at += k
	}
	w.frames += int64(n)
	return nil
}

// flush writes the buffer out and empties it.
func (w *Writer) flush() error {
	p := w.buf[:w.used]
	w.used = 0
	if err := w.to.write(p); err != nil {
		return w.fail(err)
	}
	return nil
}

func (w *Writer) fail(err error) error {
	w.err = of(w.path, err)
	return w.err
}

// Measured tells what the audio reads, for a file that says so. It must be called before Commit.
func (w *Writer) Measured(l Loudness) { w.to.measured(l) }

// Finish ends the file, which stays hidden until Commit, and says where it can be read meanwhile. Nothing may
// be written then. It fails if the number of frames written is not the one given to Create.
func (w *Writer) Finish() (path string, err error) {
	if w.err != nil {
		return "", w.err
	}
	if w.ended {
		return w.file.Name(), nil
	}
	if w.frames != w.info.Frames {
		return "", w.fail(fmt.Errorf("%d frames written of the announced %d", w.frames, w.info.Frames))
	}
	if err := w.flush(); err != nil {
		return "", err
	}
	if w.sum, err = w.to.finish(); err != nil {
		return "", w.fail(err)
	}
	w.ended = true
	return w.file.Name(), nil
}

// Commit makes the file appear at its path, whole and on the disk. It fails, and
// leaves no file, if the number of frames written is not the one given to Create.
func (w *Writer) Commit() error {
	defer w.Abort()
	if _, err := w.Finish(); err != nil {
		return err
	}
	if err := w.file.Commit(); err != nil {
		return w.fail(err)
	}
	return nil
}

// Abort leaves no file. After Commit it does nothing.
func (w *Writer) Abort() {
	w.file.Abort()
	if w.buf != nil {
		buffers.Put(w.buf)
		w.buf = nil
	}
	if w.err == nil {
		w.err = of(w.path, os.ErrClosed)
	}
}

// Limited is the number of samples written so far that had to be brought within full
// scale: beyond the largest or the smallest code after rounding, or not a
// number, which becomes 0. Floating point carries all of them, and limits none.
func (w *Writer) Limited() int64 { return w.limited }

// SHA256 is the hash of the whole file, in hex, after Finish or Commit.
func (w *Writer) SHA256() string { return w.sum }
