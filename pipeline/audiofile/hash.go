package audiofile

import (
	"encoding/hex"
	"hash"
	"io"
	"sync"
)

// bufferBytes is how much is read, written or hashed at a time.
const bufferBytes = 256 << 10

// buffers are shared by all readers and writers: fresh memory is dear at its first touch.
var buffers = sync.Pool{New: func() any { return new([bufferBytes]byte) }}

func hexOf(h hash.Hash) string { return hex.EncodeToString(h.Sum(nil)) }

// hashRange adds the bytes [from, to) of r to h.
func hashRange(h hash.Hash, r io.ReaderAt, from, to int64) error {
	buf := buffers.Get().(*[bufferBytes]byte)
	defer buffers.Put(buf)
	for from < to {
		p := buf[:min(to-from, bufferBytes)]
		if err := readAt(r, p, from); err != nil {
			return err
		}
		h.Write(p)
		from += int64(len(p))
	}
	return nil
}
