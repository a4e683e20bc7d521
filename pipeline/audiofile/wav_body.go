package audiofile

import (
	"crypto/sha256"
	"hash"
	"io"

	"ledgerline/pipeline/whole"
)

// wavBody is the body of a WAV file.
type wavBody struct {
	file *whole.File
	pad  bool // a pad byte follows the last frame
	hash hash.Hash
}

// newWAVBody writes all that is before the first frame. A file of more than limit bytes becomes RF64.
func newWAVBody(file *whole.File, f Info, limit int64) (*wavBody, error) {
	head, pad := header(f, limit)
	b := &wavBody{file, pad, sha256.New()}
	return b, b.write(head)
}

func (b *wavBody) write(p []byte) error {
	b.hash.Write(p)
	_, err := b.file.Write(p)
	return err
}

func (b *wavBody) finish() (string, error) {
	if b.pad {
		if err := b.write([]byte{0}); err != nil {
			return "", err
		}
	}
	return hexOf(b.hash), nil
}

// sumOf is the hash of the first size bytes of a file.
func sumOf(r io.ReaderAt, size int64) (string, error) {
	h := sha256.New()
	err := hashRange(h, r, 0, size)
	return hexOf(h), err
}
