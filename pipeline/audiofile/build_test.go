package audiofile

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"testing"

	"ledgerline/stages"
)

// Files are built here from the published tables and not with the writer's code.

var le = binary.LittleEndian

// ck is a chunk with its pad byte.
func ck(id string, payload ...byte) []byte {
	b := append(le.AppendUint32([]byte(id), uint32(len(payload))), payload...)
	if len(payload)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// claim is a chunk header with a size of its own choice, followed by payload.
func claim(id string, size uint32, payload ...byte) []byte {
	return append(le.AppendUint32([]byte(id), size), payload...)
}

// form is a file of that form with the true size in its header.
func form(id string, chunks ...[]byte) []byte {
	body := append([]byte("WAVE"), bytes.Join(chunks, nil)...)
	return append(le.AppendUint32([]byte(id), uint32(len(body))), body...)
}

func riff(chunks ...[]byte) []byte { return form("RIFF", chunks...) }

// long is an RF64 or BW64 file; the sizes are in the given ds64 chunk.
func long(id string, ds64 []byte, chunks ...[]byte) []byte {
	b := form(id, append([][]byte{ds64}, chunks...)...)
	le.PutUint32(b[4:], 0xFFFFFFFF)
	return b
}

// ds64Chunk is the chunk of EBU Tech 3306 and ITU-R BS.2088: riffSize, dataSize, sampleCount, tableLength.
func ds64Chunk(riff, data, samples uint64, rows uint32, table ...byte) []byte {
	p := le.AppendUint64(nil, riff)
	p = le.AppendUint64(p, data)
	p = le.AppendUint64(p, samples)
	p = le.AppendUint32(p, rows)
	return ck("ds64", append(p, table...)...)
}

// plainFmt is a WAVEFORMAT: wFormatTag, nChannels, nSamplesPerSec, nAvgBytesPerSec, nBlockAlign,
// wBitsPerSample.
func plainFmt(tag, channels uint16, rate uint32, bits uint16) []byte {
	align := channels * bits / 8
	p := le.AppendUint16(nil, tag)
	p = le.AppendUint16(p, channels)
	p = le.AppendUint32(p, rate)
	p = le.AppendUint32(p, rate*uint32(align))
	p = le.AppendUint16(p, align)
	return le.AppendUint16(p, bits)
}

// extFmt is a WAVEFORMATEXTENSIBLE: the above, cbSize, wValidBitsPerSample, dwChannelMask, SubFormat.
func extFmt(sub, channels uint16, rate uint32, bits, valid uint16, mask uint32) []byte {
	p := plainFmt(0xFFFE, channels, rate, bits)
	p = le.AppendUint16(p, 22)
	p = le.AppendUint16(p, valid)
	p = le.AppendUint32(p, mask)
	p = le.AppendUint16(p, sub)
	return append(p, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71)
}

// memory is a file in memory.
type memory struct{ *bytes.Reader }

func (memory) Close() error { return nil }

func openBytes(b []byte) (*Reader, error) {
	r, err := newReader("x.wav", memory{bytes.NewReader(b)}, int64(len(b)))
	return r, of("x.wav", err)
}

// readAll reads what r has in blocks of n frames.
func readAll(t testing.TB, r *Reader, n int) stages.Block {
	t.Helper()
	b := stages.NewBlock(r.Info().Channels, n)
	all := make(stages.Block, len(b))
	for {
		k, err := r.Read(b)
		if err == io.EOF && k == 0 {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		all = all.Append(b.Slice(0, k))
		if int64(all.Frames()) > r.Info().Frames {
			t.Fatalf("%d frames read of %d", all.Frames(), r.Info().Frames)
		}
	}
	if int64(all.Frames()) != r.Info().Frames {
		t.Fatalf("%d frames read of %d", all.Frames(), r.Info().Frames)
	}
	return all
}

// same says whether two blocks agree in every bit.
func same(a, b stages.Block) bool {
	if len(a) != len(b) {
		return false
	}
	for c := range a {
		if len(a[c]) != len(b[c]) {
			return false
		}
		for i := range a[c] {
			if math.Float64bits(a[c][i]) != math.Float64bits(b[c][i]) {
				return false
			}
		}
	}
	return true
}
