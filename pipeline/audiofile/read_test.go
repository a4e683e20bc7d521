package audiofile

import (
	"crypto/sha256"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"ledgerline/stages"
)

// Every encoding under every header that can carry it. Values: WAVEFORMATEX,
// WAVEFORMATEXTENSIBLE (valid bits are left-justified in their container), IEEE 754.
func TestEncodings(t *testing.T) {
	f32 := le.AppendUint32(le.AppendUint32(nil, math.Float32bits(0.25)), math.Float32bits(-3))
	f64 := le.AppendUint64(le.AppendUint64(nil, math.Float64bits(0.1)), math.Float64bits(-3))
	plain := func(tag, bits uint16) []byte { return plainFmt(tag, 1, 44100, bits) }
	ext := func(sub, bits, valid uint16) []byte { return extFmt(sub, 1, 44100, bits, valid, 4) }
	for _, c := range []struct {
		name string
		fmt  []byte
		data []byte
		e    Encoding
		mask uint32
		want []float64
	}{
		{"8", plain(1, 8), []byte{0, 192}, PCM8, 0, []float64{-1, 0.5}},
		{"16", plain(1, 16), []byte{0, 0x40, 0, 0x80}, PCM16, 0, []float64{0.5, -1}},
		{"24", plain(1, 24), []byte{0, 0, 0x40, 0, 0, 0x80}, PCM24, 0, []float64{0.5, -1}},
		{"32", plain(1, 32), []byte{0, 0, 0, 0x40, 0, 0, 0, 0x80}, PCM32, 0, []float64{0.5, -1}},
		{"float32", plain(3, 32), f32, Float32, 0, []float64{0.25, -3}},
		{"float64", plain(3, 64), f64, Float64, 0, []float64{0.1, -3}},
		{"float32 with cbSize", append(plain(3, 32), 0, 0), f32, Float32, 0, []float64{0.25, -3}},
		{"extensible 8", ext(1, 8, 8), []byte{0, 192}, PCM8, 4, []float64{-1, 0.5}},
		{"extensible 16", ext(1, 16, 16), []byte{0, 0x40, 0, 0x80}, PCM16, 4, []float64{0.5, -1}},
		{"extensible 24", ext(1, 24, 24), []byte{0, 0, 0x40, 0, 0, 0x80}, PCM24, 4, []float64{0.5, -1}},
		{
			"20 in 24", ext(1, 24, 20), []byte{0x10, 0, 0, 0xF0, 0xFF, 0x7F}, PCM24, 4,
			[]float64{0x1p-19, 1 - 0x1p-19},
		},
		{
			"24 in 32", ext(1, 32, 24), []byte{0, 1, 0, 0, 0, 0xFF, 0xFF, 0x7F}, PCM32, 4,
			[]float64{0x1p-23, 1 - 0x1p-23},
		},
		{"valid bits left out", ext(1, 24, 0), []byte{0, 0, 0x40, 0, 0, 0x80}, PCM24, 4, []float64{0.5, -1}},
		{"extensible float32", ext(3, 32, 32), f32, Float32, 4, []float64{0.25, -3}},
		{"extensible float64", ext(3, 64, 64), f64, Float64, 4, []float64{0.1, -3}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := openBytes(riff(ck("fmt ", c.fmt...), ck("data", c.data...)))
			if err != nil {
				t.Fatal(err)
			}
			want := Info{Rate: 44100, Channels: 1, Frames: 2, Encoding: c.e, Mask: c.mask}
			if r.Info() != want {
				t.Errorf("info %v, want %v", r.Info(), want)
			}
			if got := readAll(t, r, 3); !same(got, stages.Block{c.want}) {
				t.Errorf("read %v, want %v", got[0], c.want)
			}
		})
	}
}

// Blocks of any length read the same frames, across the ends of buffers and of rebuilt streams.
func TestBlockLengths(t *testing.T) {
	const frames = 100003
	want := ramp(3, frames)
	path := filepath.Join(t.TempDir(), "x.wav")
	write(t, path, Info{Rate: 48000, Channels: 3, Frames: frames, Encoding: PCM24}, want, 5000, longFrom)
	for _, window := range []int64{frames + 1, frames, 50000, 29127, 1021} {
		for _, n := range []int{977, 4096, 29127, frames - 1, frames, frames + 1} {
			r, err := Open(path)
			if err != nil {
				t.Fatal(err)
			}
			r.window = window
			if got := readAll(t, r, n); !same(got, want) {
				t.Errorf("streams of %d frames in blocks of %d: other samples", window, n)
			}
			r.Close()
		}
	}
}

func TestReadAtTheEnd(t *testing.T) {
	r, err := openBytes(riff(stereo16, ck("data", threeFrames...)))
	if err != nil {
		t.Fatal(err)
	}
	b := stages.NewBlock(2, 2)
	for i, want := range []int{2, 1, 0, 0} {
		n, err := r.Read(b)
		if n != want || (err == io.EOF) != (want == 0) || err != nil && err != io.EOF {
			t.Errorf("read %d: %d frames, error %v; want %d", i, n, err, want)
		}
	}
	if n, err := r.Read(stages.NewBlock(2, 0)); n != 0 || err != nil {
		t.Errorf("an empty block: %d frames, error %v", n, err)
	}
}

func TestReadAfterClose(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.wav")
	os.WriteFile(path, riff(stereo16, ck("data", threeFrames...)), 0o600)
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Read(stages.NewBlock(2, 1)); err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	if n, err := r.Read(stages.NewBlock(2, 1)); n != 0 || err == nil || err == io.EOF {
		t.Errorf("%d frames, error %v after Close", n, err)
	}
}

// The hash is that of the whole file, wherever the chunks are and however much was read.
func TestReaderHash(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.wav")
	os.WriteFile(path, append(riff(list, stereo16, ck("data", make([]byte, 4*200000)...), list),
		"after the end"...), 0o600)
	want := hashOf(t, path)
	for _, blocks := range []int{0, 1, 20, 1000} {
		for _, asked := range []bool{false, true} {
			r, err := Open(path)
			if err != nil {
				t.Fatal(err)
			}
			if asked {
				if err := r.Hash(); err != nil {
					t.Fatal(err)
				}
			}
			b := stages.NewBlock(2, 4096)
			for range blocks {
				r.Read(b)
			}
			if got, err := r.SHA256(); got != want || err != nil {
				t.Errorf("%d blocks read, asked for %t: %s (%v), want %s", blocks, asked, got, err, want)
			}
			r.Close()
		}
	}
}

// hashOf is the hash of the file on the disk.
func hashOf(t *testing.T, path string) string {
	t.Helper()
	return fmt.Sprintf("%x", sha256.Sum256(bytesOf(t, path)))
}

// sparse makes a file of that size with head at its start and tail at its end.
func sparse(t *testing.T, head, tail []byte, size int64) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "long.wav")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.Write(head); err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteAt(tail, size-int64(len(tail))); err != nil {
		t.Skip("no sparse files of this size here: ", err)
	}
	return path
}

// An RF64 file of five billion bytes, of which the last frames and the chunk after them are read.
func TestBeyond4GiB(t *testing.T) {
	const frames = 1_250_000_000
	for _, id := range []string{"RF64", "BW64"} {
		head := long(id, ds64Chunk(72+4*frames+uint64(len(list)), 4*frames, frames, 0), stereo16,
			claim("data", 0xFFFFFFFF))
		size := int64(len(head)) + 4*frames + int64(len(list))
		r, err := Open(sparse(t, head, join(threeFrames, list), size))
		if err != nil {
			t.Fatal(err)
		}
		if want := (Info{Rate: 44100, Channels: 2, Frames: frames, Encoding: PCM16}); r.Info() != want ||
			r.Ignored() != 0 {
			t.Errorf("info %v, %d bytes ignored; want %v", r.Info(), r.Ignored(), want)
		}
		b := stages.NewBlock(2, 5)
		if n, err := r.Read(b); n != 5 || err != nil || !same(b, stages.NewBlock(2, 5)) {
			t.Errorf("at the start: %d frames %v, error %v", n, b, err)
		}
		// To the end without reading what is between.
		r.next, r.left, r.have = frames-3, 0, nil
		if n, err := r.Read(b); n != 3 || err != nil || !same(b.Slice(0, 3), threeSamples) {
			t.Errorf("at the end: %d frames %v, error %v", n, b, err)
		}
		if n, err := r.Read(b); n != 0 || err != io.EOF {
			t.Errorf("after it: %d frames, error %v", n, err)
		}
		r.Close()
	}
}

// In RF64 a size that is just what a plain header says for "not known" is a size.
func TestSizeOf4GiBLessOne(t *testing.T) {
	const frames = 1<<32 - 1
	head := long("RF64", ds64Chunk(72+frames+1, frames, frames, 0), ck("fmt ", plainFmt(1, 1, 8000, 8)...),
		claim("data", 0xFFFFFFFF))
	size := int64(len(head)) + frames + 1000
	l, err := scan(zeros{head, size}, size)
	if err != nil || l.info.Frames != frames || l.ignored != 999 {
		t.Errorf("%d frames, %d bytes ignored (%v); want %d, 999", l.info.Frames, l.ignored, err, int64(frames))
	}
}

// A writer without RF64 lets its 32-bit sizes overflow. The audio must not end there.
func TestSizeThatRanOver(t *testing.T) {
	const frames = 1<<30 + 100
	head := riff(stereo16, claim("data", uint32(frames*4&0xFFFFFFFF)))
	le.PutUint32(head[4:], uint32((36+frames*4)&0xFFFFFFFF))
	_, err := Open(sparse(t, head, threeFrames, 44+frames*4))
	const want = `corrupt WAV file: chunk "data" at byte 36: it claims 100 frames, but the file goes on for ` +
		`4294967296 bytes: a size beyond 4 GiB needs an RF64 header`
	if err == nil || err.Error()[len(err.Error())-len(want):] != want {
		t.Errorf("error %v, want %s", err, want)
	}
}

func BenchmarkRead(b *testing.B) {
	for _, hashed := range []bool{false, true} {
		for _, e := range OutputEncodings() {
			name := string(e)
			if hashed {
				name += "/hashed"
			}
			b.Run(name, func(b *testing.B) { benchmarkRead(b, e, hashed) })
		}
	}
}

func benchmarkRead(b *testing.B, e Encoding, hashed bool) {
	const blocks = 512
	path := filepath.Join(b.TempDir(), "x.wav")
	block := benchBlock(2)
	f := Info{Rate: 48000, Channels: 2, Frames: int64(blocks * block.Frames()), Encoding: e}
	w, err := Create(path, f)
	if err != nil {
		b.Fatal(err)
	}
	for range blocks {
		w.Write(block)
	}
	if err := w.Commit(); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(f.Frames * f.frame())
	b.ReportAllocs()
	for b.Loop() {
		r, err := Open(path)
		if err != nil {
			b.Fatal(err)
		}
		if hashed {
			r.Hash()
		}
		for err == nil {
			_, err = r.Read(block)
		}
		if hashed {
			r.SHA256()
		}
		r.Close()
	}
}

// BenchmarkWrite leaves out what only the disk decides: it aborts where a render commits.
func BenchmarkWrite(b *testing.B) {
	for _, e := range OutputEncodings() {
		b.Run(string(e), func(b *testing.B) {
			const blocks = 512
			path := filepath.Join(b.TempDir(), "x.wav")
			block := benchBlock(2)
			f := Info{Rate: 48000, Channels: 2, Frames: int64(blocks * block.Frames()), Encoding: e}
			b.SetBytes(f.Frames * f.frame())
			b.ReportAllocs()
			for b.Loop() {
				w, err := Create(path, f)
				if err != nil {
					b.Fatal(err)
				}
				for range blocks {
					if err := w.Write(block); err != nil {
						b.Fatal(err)
					}
				}
				w.Abort()
			}
		})
	}
}
