package audiofile

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"ledgerline/stages"
	runs "ledgerline/stages/stagetest/long"

	"github.com/google/go-cmp/cmp"
)

// write makes a file of b's frames, in blocks of n, and returns the committed writer.
func write(t testing.TB, path string, f Info, b stages.Block, n int, limit int64) *Writer {
	t.Helper()
	return writeWith(t, path, f, Beside{}, b, n, limit)
}

// writeWith is write with something beside the audio.
func writeWith(t testing.TB, path string, f Info, beside Beside, b stages.Block, n int, limit int64) *Writer {
	t.Helper()
	w, err := create(path, f, beside, limit)
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at < b.Frames(); at += n {
		if err := w.Write(b.Slice(at, min(at+n, b.Frames()))); err != nil {
			t.Fatal(err)
		}
	}
	w.Measured(exampleLoudness())
	if err := w.Commit(); err != nil {
		t.Fatal(err)
	}
	return w
}

func bytesOf(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Whole files, against the tables of WAVEFORMATEX, WAVEFORMATEXTENSIBLE and, for RF64, EBU
// Tech 3306.
func TestWrittenBytes(t *testing.T) {
	half := func(channels int) stages.Block {
		b := stages.NewBlock(channels, 1)
		for c := range b {
			b[c][0] = 0.5
		}
		return b
	}
	float := func(p []byte) []byte { return append(p, 0, 0) } // cbSize
	fact := ck("fact", 1, 0, 0, 0)
	for _, c := range []struct {
		name  string
		info  Info
		limit int64
		want  []byte
	}{
		{"mono 16", Info{Rate: 8000, Channels: 1, Encoding: PCM16}, longFrom,
			riff(ck("fmt ", plainFmt(1, 1, 8000, 16)...), ck("data", 0, 0x40))},
		{"mono 24, pad byte", Info{Rate: 44100, Channels: 1, Encoding: PCM24}, longFrom,
			riff(ck("fmt ", plainFmt(1, 1, 44100, 24)...), ck("data", 0, 0, 0x40))},
		{"stereo 24", Info{Rate: 96000, Channels: 2, Encoding: PCM24}, longFrom,
			riff(ck("fmt ", plainFmt(1, 2, 96000, 24)...), ck("data", 0, 0, 0x40, 0, 0, 0x40))},
		{"stereo 32", Info{Rate: 384000, Channels: 2, Encoding: PCM32}, longFrom,
			riff(ck("fmt ", plainFmt(1, 2, 384000, 32)...), ck("data", 0, 0, 0, 0x40, 0, 0, 0, 0x40))},
		{"mono float32", Info{Rate: 48000, Channels: 1, Encoding: Float32}, longFrom,
			riff(ck("fmt ", float(plainFmt(3, 1, 48000, 32))...), fact, ck("data", 0, 0, 0, 0x3F))},
		{"mono float64", Info{Rate: 48000, Channels: 1, Encoding: Float64}, longFrom,
			riff(ck("fmt ", float(plainFmt(3, 1, 48000, 64))...), fact, ck("data", 0, 0, 0, 0, 0, 0, 0xE0, 0x3F))},
		{"mono, front centre", Info{Rate: 48000, Channels: 1, Encoding: PCM16, Mask: 4}, longFrom,
			riff(ck("fmt ", plainFmt(1, 1, 48000, 16)...), ck("data", 0, 0x40))},
		{"mono, front left", Info{Rate: 48000, Channels: 1, Encoding: PCM16, Mask: 1}, longFrom,
			riff(ck("fmt ", extFmt(1, 1, 48000, 16, 16, 1)...), ck("data", 0, 0x40))},
		{"stereo, front pair", Info{Rate: 48000, Channels: 2, Encoding: PCM16, Mask: 3}, longFrom,
			riff(ck("fmt ", plainFmt(1, 2, 48000, 16)...), ck("data", 0, 0x40, 0, 0x40))},
		{"stereo, back pair, float", Info{Rate: 48000, Channels: 2, Encoding: Float32, Mask: 0x30}, longFrom,
			riff(ck("fmt ", extFmt(3, 2, 48000, 32, 32, 0x30)...), fact, ck("data", 0, 0, 0, 0x3F, 0, 0, 0, 0x3F))},
		{"three channels, no mask", Info{Rate: 48000, Channels: 3, Encoding: PCM24}, longFrom,
			riff(ck("fmt ", extFmt(1, 3, 48000, 24, 24, 0)...), ck("data", 0, 0, 0x40, 0, 0, 0x40, 0, 0, 0x40))},
		{"5.1", Info{Rate: 48000, Channels: 6, Encoding: PCM16, Mask: 0x3F}, longFrom,
			riff(ck("fmt ", extFmt(1, 6, 48000, 16, 16, 0x3F)...), ck("data", bytes.Repeat([]byte{0, 0x40}, 6)...))},
		{"RF64 stereo 16", Info{Rate: 48000, Channels: 2, Encoding: PCM16}, 47,
			long("RF64", ds64Chunk(76, 4, 1, 0), ck("fmt ", plainFmt(1, 2, 48000, 16)...),
				claim("data", 0xFFFFFFFF, 0, 0x40, 0, 0x40))},
		{"RF64 mono 24, pad byte", Info{Rate: 48000, Channels: 1, Encoding: PCM24}, 47,
			long("RF64", ds64Chunk(76, 3, 1, 0), ck("fmt ", plainFmt(1, 1, 48000, 24)...),
				claim("data", 0xFFFFFFFF, 0, 0, 0x40, 0))},
		{"RF64 mono float32", Info{Rate: 48000, Channels: 1, Encoding: Float32}, 61,
			long("RF64", ds64Chunk(90, 4, 1, 0), ck("fmt ", float(plainFmt(3, 1, 48000, 32))...),
				claim("fact", 4, 0xFF, 0xFF, 0xFF, 0xFF),
				claim("data", 0xFFFFFFFF, 0, 0, 0, 0x3F))},
		{"not yet RF64", Info{Rate: 48000, Channels: 2, Encoding: PCM16}, 48,
			riff(ck("fmt ", plainFmt(1, 2, 48000, 16)...), ck("data", 0, 0x40, 0, 0x40))},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "x.wav")
			c.info.Frames = 1
			write(t, path, c.info, half(c.info.Channels), 1, c.limit)
			got := bytesOf(t, path)
			if d := cmp.Diff(c.want, got); d != "" {
				t.Error(d)
			}
			if string(got[:4]) == "RF64" && le.Uint64(got[20:]) != uint64(len(got)-8) {
				t.Errorf("riffSize %d in a file of %d bytes", le.Uint64(got[20:]), len(got))
			}
		})
	}
}

// zeros is a file of that size with the given beginning and silence after it.
type zeros struct {
	head []byte
	size int64
}

func (z zeros) ReadAt(p []byte, off int64) (int, error) {
	n := int(max(0, min(int64(len(p)), z.size-off)))
	clear(p[:n])
	if off < int64(len(z.head)) {
		copy(p[:n], z.head[off:])
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// The last file with a RIFF header has 4 GiB or just less, the next one has ds64, and
// both read as what they are.
func TestBoundaryOf4GiB(t *testing.T) {
	for _, c := range []struct {
		e        Encoding
		channels int
		head     int64 // bytes of a plain header: 12 + 24 (or 26 + 12, or 48) + 8
		frame    int64
	}{
		{PCM16, 2, 44, 4}, {PCM24, 1, 44, 3}, {PCM24, 2, 44, 6}, {PCM32, 2, 44, 8},
		{Float32, 1, 58, 4}, {Float64, 2, 58, 16}, {PCM24, 6, 68, 18}, {Float32, 64, 80, 256},
	} {
		last := (1<<32 - c.head) / c.frame
		if last*c.frame%2 == 1 && c.head+last*c.frame+1 > 1<<32 {
			last--
		}
		for _, frames := range []int64{0, 1, last - 1, last, last + 1, last + 2, 3 * last} {
			f := Info{Rate: 48000, Channels: c.channels, Frames: frames, Encoding: c.e}
			head, pad := header(f, nil, longFrom)
			size := int64(len(head)) + frames*c.frame
			if pad != (frames*c.frame%2 == 1) {
				t.Errorf("%v: pad byte %t", f, pad)
			}
			if pad {
				size++
			}
			want := "RIFF"
			if frames > last {
				want = "RF64"
			}
			if got := string(head[:4]); got != want {
				t.Errorf("%v: %s of %d bytes, want %s", f, got, size, want)
			}
			if riff := int64(le.Uint32(head[4:])); want == "RIFF" && riff != size-8 {
				t.Errorf("%v: RIFF size %d in a file of %d bytes", f, riff, size)
			}
			if want == "RF64" && le.Uint64(head[20:]) != uint64(size-8) {
				t.Errorf("%v: riffSize %d in a file of %d bytes", f, le.Uint64(head[20:]), size)
			}
			l, err := scan(zeros{head, size}, size)
			if err != nil {
				t.Errorf("%v: %v", f, err)
				continue
			}
			if l.info != f || l.ignored != 0 || l.data != int64(len(head)) {
				t.Errorf("%v reads as %v, at byte %d, %d bytes ignored", f, l.info, l.data, l.ignored)
			}
		}
	}
}

// ramp is a block whose every sample differs from its neighbours and is a code of 16 bits.
func ramp(channels, frames int) stages.Block {
	b := stages.NewBlock(channels, frames)
	for c := range b {
		for i := range b[c] {
			b[c][i] = float64(int16(i*7919+c*104729)) / 32768
		}
	}
	return b
}

func TestRoundTrip(t *testing.T) {
	dir := t.TempDir()
	for _, e := range OutputEncodings() {
		k, _ := e.codec()
		for _, channels := range runs.Or([]int{3, 64}, []int{1, 2, 3, 6, 64}) {
			whole := bufferBytes / (k.size * channels) // frames that fill a buffer
			for _, frames := range []int{0, 1, 2, whole - 1, whole, whole + 1, 2*whole + 7} {
				path := filepath.Join(dir, fmt.Sprintf("%s-%d-%d.wav", e, channels, frames))
				b := ramp(channels, frames)
				f := Info{Rate: 48000, Channels: channels, Frames: int64(frames), Encoding: e}
				step := []int{frames + 1, 4093, whole}[frames%3]
				w := write(t, path, f, b, step, longFrom)
				if w.Limited() != 0 {
					t.Errorf("%v: %d samples limited", f, w.Limited())
				}
				checkRoundTrip(t, path, f, b, w.SHA256())
				os.Remove(path)
			}
		}
	}
}

func checkRoundTrip(t *testing.T, path string, f Info, b stages.Block, sum string) {
	t.Helper()
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if r.Info() != f {
		t.Errorf("reads as %v, want %v", r.Info(), f)
	}
	if err := r.Hash(); err != nil {
		t.Fatal(err)
	}
	if got := readAll(t, r, 1009); !same(got, b) {
		t.Errorf("%v comes back changed", f)
	}
	while, err := r.SHA256()
	if err != nil {
		t.Fatal(err)
	}
	if after := hashOf(t, path); while != after || sum != after {
		t.Errorf("%v: hash %s by the writer, %s by the reader, %s of the file", f, sum, while, after)
	}
}

func TestLimitedCount(t *testing.T) {
	b := stages.Block{{1, -1, 0.5, 1.5, -1.5, 1 - 0x1p-15}, {0, 0, 2, 0, 0, 1 - 0x1p-17}}
	for e, want := range map[Encoding]int64{PCM16: 5, PCM24: 4, PCM32: 4, Float32: 0, Float64: 0} {
		path := filepath.Join(t.TempDir(), "x.wav")
		w := write(t, path, Info{Rate: 48000, Channels: 2, Frames: 6, Encoding: e}, b, 4, longFrom)
		if w.Limited() != want {
			t.Errorf("%s: %d samples limited, want %d", e, w.Limited(), want)
		}
	}
}

func TestSteadyStateAllocatesNothing(t *testing.T) {
	const frames = 1000
	for _, e := range OutputEncodings() {
		b := ramp(2, frames)
		path := filepath.Join(t.TempDir(), "x.wav")
		w, err := Create(path, Info{Rate: 48000, Channels: 2, Frames: 201 * frames, Encoding: e})
		if err != nil {
			t.Fatal(err)
		}
		if n := testing.AllocsPerRun(200, func() { w.Write(b) }); n != 0 {
			t.Errorf("%s: a write allocates %g times", e, n)
		}
		if err := w.Commit(); err != nil {
			t.Fatal(err)
		}
		r, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Hash(); err != nil {
			t.Fatal(err)
		}
		if n := testing.AllocsPerRun(200, func() { r.Read(b) }); n != 0 {
			t.Errorf("%s: a read allocates %g times", e, n)
		}
		if n, err := r.Read(b); n != 0 || err != io.EOF {
			t.Errorf("%s: then %d frames, error %v; want the end", e, n, err)
		}
		r.Close()
	}
}
