package flac

import (
	"bytes"
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages/stagetest/long"

	other "github.com/mewkiz/flac"
)

// tune is a chord with noise, a channel apart from the next.
func tune(channels, frames, bits int, level, noise float64) [][]int32 {
	rng := rand.New(rand.NewPCG(1, uint64(bits)))
	full := math.Ldexp(1, bits-1)
	x := make([][]int32, channels)
	for c := range x {
		x[c] = make([]int32, frames)
		for i := range x[c] {
			t := float64(i) / 44100
			v := level*(math.Sin(2*math.Pi*220*t)+0.3*math.Sin(2*math.Pi*(1330+float64(c))*t)) +
				noise*rng.NormFloat64()
			x[c][i] = int32(max(-full, min(math.RoundToEven(v*full), full-1)))
		}
	}
	return x
}

// encode makes a stream of x in one go.
func encode(f Format, x [][]int32) []byte {
	n := len(x[0])
	info := Info{Format: f, BlockMin: BlockFrames, BlockMax: BlockFrames, Frames: int64(n)}
	out := Head(info, nil)
	e := NewEncoder(f)
	block := make([][]int32, len(x))
	for at, number := 0, int64(0); at < n; at, number = at+BlockFrames, number+1 {
		for c := range x {
			block[c] = x[c][at:min(at+BlockFrames, n)]
		}
		out = e.Append(out, block, number)
	}
	return out
}

// decode reads a stream in one go.
func decode(t *testing.T, p []byte) [][]int32 {
	t.Helper()
	info, err := ParseInfo(p[8:42])
	if err != nil {
		t.Fatal(err)
	}
	d := NewDecoder(info)
	x := make([][]int32, info.Channels)
	p = append(p[42:len(p):len(p)], make([]byte, Slack)...)
	p = p[:len(p)-Slack]
	for at := int64(0); len(p) > 0; {
		samples, n, err := d.Frame(p, at)
		if err != nil {
			t.Fatal(err)
		}
		for c := range x {
			for _, v := range samples[c] {
				x[c] = append(x[c], int32(v))
			}
		}
		at, p = at+int64(len(samples[0])), p[n:]
	}
	return x
}

func TestRoundTrip(t *testing.T) {
	signals := map[string]func(channels, n, bits int) [][]int32{
		"tune":    func(channels, n, bits int) [][]int32 { return tune(channels, n, bits, 0.5, 1e-3) },
		"loud":    func(channels, n, bits int) [][]int32 { return tune(channels, n, bits, 3, 0.1) },
		"noise":   func(channels, n, bits int) [][]int32 { return tune(channels, n, bits, 0, 1) },
		"silence": func(channels, n, bits int) [][]int32 { return tune(channels, n, bits, 0, 0) },
		"constant": func(channels, n, bits int) [][]int32 {
			x := tune(channels, n, bits, 0, 0)
			for c := range x {
				for i := range x[c] {
					x[c][i] = int32(-3 - c)
				}
			}
			return x
		},
		"few bits": func(channels, n, bits int) [][]int32 {
			x := tune(channels, n, bits, 0.5, 1e-3)
			for c := range x {
				for i := range x[c] {
					x[c][i] &^= 1<<(bits/3) - 1
				}
			}
			return x
		},
		"extremes": func(channels, n, bits int) [][]int32 {
			x := tune(channels, n, bits, 0, 0)
			for c := range x {
				for i := range x[c] {
					x[c][i] = int32(-1 << (bits - 1))
					if (i>>1+c*i)&1 == 1 {
						x[c][i] = int32(1<<(bits-1) - 1)
					}
				}
			}
			return x
		},
		"a click": func(channels, n, bits int) [][]int32 {
			x := tune(channels, n, bits, 0, 0)
			x[0][n/2] = int32(1<<(bits-1) - 1)
			return x
		},
	}
	// How many lengths are for so many channels.
	most := long.Or(map[int]int{1: 8, 2: 9, 3: 6, 8: 5}, map[int]int{1: 9, 2: 9, 3: 9, 8: 9})
	for name, signal := range signals {
		for _, bits := range []int{16, 24, 32} {
			for _, channels := range []int{1, 2, 3, 8} {
				for _, n := range []int{1, 2, 5, 15, 47, 4097, 4096, 8192 + 576, 4095}[:most[channels]] {
					x := signal(channels, n, bits)
					f := Format{Rate: 44100, Channels: channels, Bits: bits}
					p := encode(f, x)
					same(t, name, x, decode(t, p))
					if bits < 32 { // which the other does not know
						same(t, name+", read by another decoder", x, decodeOther(t, p, channels))
					}
				}
			}
		}
	}
}

// decodeOther reads a stream with another implementation.
func decodeOther(t *testing.T, p []byte, channels int) [][]int32 {
	t.Helper()
	s, err := other.New(bytes.NewReader(p))
	if err != nil {
		t.Fatal(err)
	}
	x := make([][]int32, channels)
	for {
		f, err := s.ParseNext()
		if err == io.EOF {
			return x
		}
		if err != nil {
			t.Fatal(err)
		}
		for c, sub := range f.Subframes {
			x[c] = append(x[c], sub.Samples...)
		}
	}
}

func same(t *testing.T, name string, want, got [][]int32) {
	t.Helper()
	for c := range want {
		if len(got[c]) != len(want[c]) {
			t.Fatalf("%s: %d frames, want %d", name, len(got[c]), len(want[c]))
		}
		for i, v := range want[c] {
			if got[c][i] != v {
				t.Fatalf("%s, %d frames of %d channels: channel %d, frame %d is %d, want %d", name, len(want[c]),
					len(want), c, i, got[c][i], v)
			}
		}
	}
}

func BenchmarkEncode(b *testing.B) {
	for _, bits := range []int{16, 24} {
		x := tune(2, 100*BlockFrames, bits, 0.5, 1e-3)
		b.Run(map[int]string{16: "16", 24: "24"}[bits], func(b *testing.B) {
			b.SetBytes(int64(2 * len(x[0]) * bits / 8))
			for b.Loop() {
				encode(Format{Rate: 44100, Channels: 2, Bits: bits}, x)
			}
		})
	}
}
