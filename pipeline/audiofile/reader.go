package audiofile

import (
	"crypto/sha256"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"

	"ledgerline/pipeline/whole"
	"ledgerline/stages"
)

// Reader reads the audio of one file from its start to its end. It is not safe
// for use by several goroutines at once.
type Reader struct {
	path string
	file file
	size int64 // of the file
	at   layout
	err  error // the first one, which stays

	decode decoder
	window int64 // frames of one rebuilt stream
	pcm    io.Reader
	left   int64 // frames that pcm still has
	next   int64 // the frame that pcm is at
	buf    *[bufferBytes]byte
	have   []byte       // what of buf was read and not handed out
	view   stages.Block // the part of a caller's block that is being filled

	hash   hash.Hash // nil: not asked for
	hashed int64     // up to which offset
}

// file is what a Reader needs of an open file.
type file interface {
	io.ReaderAt
	io.Closer
}

// Open opens a file and checks it.
func Open(path string) (*Reader, error) {
	f, size, err := openRegular(path)
	if err != nil {
		return nil, err
	}
	r, err := newReader(path, f, size)
	if err != nil {
		f.Close()
		return nil, of(path, err)
	}
	return r, nil
}

// openRegular opens a file that has a size. Anything else, such as a pipe, could
// block or never end.
func openRegular(path string) (*os.File, int64, error) {
	st, err := os.Stat(path)
	if err != nil {
		return nil, 0, err
	}
	if st.IsDir() {
		return nil, 0, fmt.Errorf("%s: %w: it is a folder; want the files in it, such as %s", path, ErrNotAudio,
			filepath.Join(path, "*.wav"))
	}
	if what := whole.Oddity(st.Mode()); what != "" {
		return nil, 0, fmt.Errorf("%s: %w: it is %s; want an ordinary file", path, ErrNotAudio, what)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	if st, err = f.Stat(); err != nil {
		f.Close()
		return nil, 0, err
	}
	return f, st.Size(), nil
}

func newReader(path string, f file, size int64) (*Reader, error) {
	l, err := scan(f, size)
	if err != nil {
		return nil, err
	}
	c, _ := l.info.Encoding.codec()
	if l.open == nil {
		l.open = func(file io.ReaderAt, from, frames int64) (io.Reader, error) {
			return openPCM(file, l, from, frames)
		}
	}
	return &Reader{
		path: path, file: f, size: size, at: l,
		decode: c.decode, window: l.window(),
		view: make(stages.Block, l.info.Channels),
	}, nil
}

// window is how many frames are read from one stream.
func (l layout) window() int64 {
	if l.coded {
		return l.info.Frames
	}
	return windowBytes / l.frame
}

// Info is what the file's header says of its audio.
func (r *Reader) Info() Info { return r.at.info }

// Ignored is the number of bytes after the end that the file's header gives. They belong
// to no chunk, and are not looked at; 0 = none.
func (r *Reader) Ignored() int64 { return r.at.ignored }

// Read fills up to dst.Frames() frames into the front of dst's channels and
// returns how many: fewer only at the end of the audio, and after it 0 and io.EOF.
// dst must have as many channels as the file.
func (r *Reader) Read(dst stages.Block) (n int, err error) {
	if len(dst) != len(r.view) {
		return 0, fmt.Errorf("%s: a block of %d channels for a file of %d", r.path, len(dst), len(r.view))
	}
	for n < dst.Frames() {
		if len(r.have) == 0 && !r.fill() {
			break
		}
		n += r.hand(dst, n)
	}
	if n == 0 && dst.Frames() > 0 || r.err != nil && r.err != io.EOF {
		return n, r.err
	}
	return n, nil
}

// hand decodes what it has into dst from frame n on and returns how many frames that were.
func (r *Reader) hand(dst stages.Block, n int) int {
	frame := int(r.at.frame)
	k := min(len(r.have)/frame, dst.Frames()-n)
	for c := range r.view {
		r.view[c] = dst[c][n : n+k]
	}
	r.decode(r.view, r.have[:k*frame])
	r.have = r.have[k*frame:]
	return k
}

// fill reads the next frames into the empty buffer, unless there are none or there was an error.
func (r *Reader) fill() bool {
	if r.err == nil && r.next == r.at.info.Frames {
		r.err = io.EOF
	}
	if r.err == nil && r.left == 0 {
		r.left = min(r.window, r.at.info.Frames-r.next)
		r.pcm, r.err = r.at.open(r.file, r.next, r.left)
		r.err = of(r.path, r.err)
	}
	if r.err != nil {
		return false
	}
	if r.buf == nil {
		r.buf = buffers.Get().(*[bufferBytes]byte)
	}
	k := min(bufferBytes/r.at.frame, r.left)
	p := r.buf[:k*r.at.frame]
	if n, err := io.ReadFull(r.pcm, p); err != nil {
		r.err = r.cut(int64(n), err)
		return false
	}
	r.left -= k
	r.next += k
	if r.hash != nil && !r.at.coded {
		r.hash.Write(p)
		r.hashed += int64(len(p))
	}
	if r.at.fix != nil {
		r.at.fix(p)
	}
	r.have = p
	return true
}

// cut is the error for a file that had only n more bytes when it was read: it
// has changed since it was opened, or cannot be read.
func (r *Reader) cut(n int64, err error) error {
	if r.at.coded || err != io.EOF && err != io.ErrUnexpectedEOF {
		return of(r.path, err)
	}
	return of(r.path,
		faultf(ErrCorrupt, "", "it got shorter while it was being read: %d of %d frames are missing",
			r.at.info.Frames-r.next-n/r.at.frame, r.at.info.Frames))
}

// Hash makes the reader hash the file as it reads it; one in FLAC is read once more at the end. It must be
// called before the first Read.
func (r *Reader) Hash() error {
	r.hash = sha256.New()
	r.hashed = r.at.data
	return of(r.path, hashRange(r.hash, r.file, 0, r.at.data))
}

// SHA256 is the hash of the whole file, in hex. What was hashed while it was
// read is not read again. No Read may follow.
func (r *Reader) SHA256() (string, error) {
	if r.hash == nil {
		r.hash = sha256.New()
	}
	if err := hashRange(r.hash, r.file, r.hashed, r.size); err != nil {
		return "", of(r.path, err)
	}
	r.hashed = r.size
	return hexOf(r.hash), nil
}

// Close closes the file.
func (r *Reader) Close() error {
	if r.buf != nil {
		buffers.Put(r.buf)
		r.buf, r.have = nil, nil
	}
	if r.err == nil {
		r.err = of(r.path, os.ErrClosed)
	}
	return of(r.path, r.file.Close())
}
