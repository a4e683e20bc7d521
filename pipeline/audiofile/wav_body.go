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
	size int64

	loudness   Loudness
	loudnessAt int64 // offset of the figures of loudness; 0: there are none
}

// newWAVBody writes all that is before the first frame. A file of more than limit bytes becomes RF64.
func newWAVBody(file *whole.File, f Info, beside Beside, limit int64) (*wavBody, error) {
	chunks, err := beside.chunksOf()
	if err != nil {
		return nil, err
	}
	head, pad := header(f, chunks, limit)
	b := &wavBody{file: file, pad: pad, hash: sha256.New()}
	if beside.bext() {
		b.loudnessAt = 12 + int64(len(formatChunk(f))) + 8 + bextLoudnessAt
		if string(head[:4]) == "RF64" {
			b.loudnessAt += 8 + ds64Size
		}
	}
	return b, b.write(head)
}

func (b *wavBody) measured(l Loudness) { b.loudness = l }

func (b *wavBody) write(p []byte) error {
	if b.loudnessAt == 0 { // else what was written changes at the end
		b.hash.Write(p)
	}
	b.size += int64(len(p))
	_, err := b.file.Write(p)
	return err
}

func (b *wavBody) finish() (string, error) {
	if b.pad {
		if err := b.write([]byte{0}); err != nil {
			return "", err
		}
	}
	if b.loudnessAt == 0 {
		return hexOf(b.hash), nil
	}
	if _, err := b.file.WriteAt(b.loudness.bytes(), b.loudnessAt); err != nil {
		return "", err
	}
	return sumOf(b.file, b.size)
}

// sumOf is the hash of the first size bytes of a file.
func sumOf(r io.ReaderAt, size int64) (string, error) {
	h := sha256.New()
	err := hashRange(h, r, 0, size)
	return hexOf(h), err
}
