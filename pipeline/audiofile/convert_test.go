package audiofile

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
)

// The values follow from code / 2^(bits-1), little endian, two's complement, and
// from IEEE 754; eight bits are unsigned, with silence at 128.
func TestDecode(t *testing.T) {
	for _, c := range []struct {
		e    Encoding
		code []byte
		want float64
	}{
		{PCM8, []byte{0}, -1},
		{PCM8, []byte{128}, 0},
		{PCM8, []byte{129}, 0x1p-7},
		{PCM8, []byte{255}, 1 - 0x1p-7},
		{PCM16, []byte{0x00, 0x80}, -1},
		{PCM16, []byte{0xFF, 0xFF}, -0x1p-15},
		{PCM16, []byte{0x01, 0x00}, 0x1p-15},
		{PCM16, []byte{0xFF, 0x7F}, 1 - 0x1p-15},
		{PCM24, []byte{0x00, 0x00, 0x80}, -1},
		{PCM24, []byte{0xFF, 0xFF, 0xFF}, -0x1p-23},
		{PCM24, []byte{0x00, 0x00, 0x40}, 0.5},
		{PCM24, []byte{0xFF, 0xFF, 0x7F}, 1 - 0x1p-23},
		{PCM32, []byte{0x00, 0x00, 0x00, 0x80}, -1},
		{PCM32, []byte{0xFF, 0xFF, 0xFF, 0xFF}, -0x1p-31},
		{PCM32, []byte{0xFF, 0xFF, 0xFF, 0x7F}, 1 - 0x1p-31},
		{Float32, []byte{0x00, 0x00, 0x80, 0x3F}, 1},
		{Float32, []byte{0x00, 0x00, 0x00, 0xC0}, -2},
		{Float32, []byte{0x00, 0x00, 0x80, 0xFF}, math.Inf(-1)},
		{Float32, []byte{0x01, 0x00, 0x00, 0x00}, 0x1p-149},
		{Float64, []byte{0, 0, 0, 0, 0, 0, 0xF0, 0x3F}, 1},
		{Float64, []byte{1, 0, 0, 0, 0, 0, 0, 0x80}, -0x1p-1074},
	} {
		k, _ := c.e.codec()
		if k.size != len(c.code) {
			t.Fatalf("%s has %d bytes, want %d", c.e, k.size, len(c.code))
		}
		dst := stages.NewBlock(1, 1)
		k.decode(dst, c.code)
		if dst[0][0] != c.want {
			t.Errorf("%s % x = %g, want %g", c.e, c.code, dst[0][0], c.want)
		}
		if k.encode == nil {
			continue
		}
		back := make([]byte, k.size)
		if limited := k.encode(back, dst); string(back) != string(c.code) || limited != 0 {
			t.Errorf("%s %g = % x with %d limited, want % x", c.e, c.want, back, limited, c.code)
		}
	}
}

// Every code of up to 16 bits, and those of 24 and 32 around the middle and the
// ends, must come back as it was.
func TestCodesSurvive(t *testing.T) {
	for _, e := range []Encoding{PCM16, PCM24, PCM32} {
		k, _ := e.codec()
		full := int64(1) << (8*k.size - 1)
		dst, back := stages.NewBlock(1, 1), make([]byte, k.size)
		var whole [4]byte
		code := whole[:k.size]
		for _, centre := range []int64{-full, -full / 2, 0, full / 3, full - 1} {
			for v := max(-full, centre-40000); v < min(full, centre+40000); v++ {
				le.PutUint32(whole[:], uint32(v))
				k.decode(dst, code)
				if limited := k.encode(back, dst); string(back) != string(code) || limited != 0 {
					t.Fatalf("%s code %d comes back as % x, %d limited", e, v, back, limited)
				}
			}
		}
	}
}

// slowCode is the rule in plain words: round to nearest, ties to even, then bring
// within the range.
func slowCode(x float64, bits int) (code int64, limited int64) {
	full := math.Ldexp(1, bits-1)
	r := math.RoundToEven(x * full)
	switch {
	case math.IsNaN(x):
		return 0, 1
	case r > full-1:
		return int64(full) - 1, 1
	case r < -full:
		return -int64(full), 1
	}
	return int64(r), 0
}

// Steps of a quarter code around the middle, the ends and the ties there; values far
// beyond full scale; what is no number.
func TestRounding(t *testing.T) {
	for _, e := range []Encoding{PCM16, PCM24, PCM32} {
		k, _ := e.codec()
		bits := 8 * k.size
		full := math.Ldexp(1, bits-1)
		values := []float64{
			math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, -math.MaxFloat64, 5e-324, -5e-324,
			math.Copysign(0, -1), 2, -2, 1e6,
		}
		for _, centre := range []float64{-full, -full / 2, -1, 0, 1, full / 2, full - 1} {
			for q := -40.0; q <= 40; q++ {
				x := (centre + q/4) / full
				values = append(values, x, math.Nextafter(x, 2), math.Nextafter(x, -2))
			}
		}
		for _, x := range values {
			want, wantLimited := slowCode(x, bits)
			back := make([]byte, k.size)
			limited := k.encode(back, [][]float64{{x}})
			if code := le.AppendUint32(nil, uint32(want))[:k.size]; string(back) != string(code) ||
				limited != wantLimited {
				t.Errorf("%s %g (%g codes) = % x, %d limited; want % x, %d", e, x, x*full, back, limited, code,
					wantLimited)
			}
		}
	}
}

// Floating point limits nothing, and float32 rounds as IEEE 754 says.
func TestFloatsPass(t *testing.T) {
	x := []float64{3, -1e30, math.Inf(1), math.NaN(), 1 + 0x1p-24, 1 + 0x1.8p-23, 1e300}
	want32 := []float64{3, float64(float32(-1e30)), math.Inf(1), math.NaN(), 1, 1 + 0x1p-22, math.Inf(1)}
	for e, want := range map[Encoding][]float64{Float32: want32, Float64: x} {
		k, _ := e.codec()
		b := make([]byte, k.size*len(x))
		if limited := k.encode(b, [][]float64{x}); limited != 0 {
			t.Errorf("%s limited %d samples", e, limited)
		}
		got := stages.NewBlock(1, len(x))
		k.decode(got, b)
		for i := range want {
			if got[0][i] != want[i] && !math.IsNaN(want[i]) || math.IsNaN(want[i]) != math.IsNaN(got[0][i]) {
				t.Errorf("%s %g = %g, want %g", e, x[i], got[0][i], want[i])
			}
		}
	}
}

// Frames are interleaved channel by channel, and nothing outside of them is touched.
func TestInterleaving(t *testing.T) {
	for _, e := range append(OutputEncodings(), PCM8) {
		k, _ := e.codec()
		for _, channels := range []int{1, 2, 3, 6, 64} {
			for _, frames := range []int{0, 1, 2, 7, 8, 9, 33} {
				in := make([]byte, channels*frames*k.size)
				for i := range in {
					in[i] = byte(37*i + 11)
				}
				dst := stages.NewBlock(channels, frames)
				k.decode(dst, in)
				for c := range dst {
					for i := range dst[c] {
						one := stages.NewBlock(1, 1)
						at := (i*channels + c) * k.size
						k.decode(one, in[at:at+k.size])
						if math.Float64bits(one[0][0]) != math.Float64bits(dst[c][i]) {
							t.Fatalf("%s, %d channels: frame %d channel %d = %g, want %g", e, channels, i, c, dst[c][i], one[0][0])
						}
					}
				}
				if k.encode == nil || e == Float32 { // float32 quiets a signalling NaN
					continue
				}
				back := make([]byte, len(in))
				if k.encode(back, dst); string(back) != string(in) {
					t.Fatalf("%s, %d channels, %d frames: comes back changed", e, channels, frames)
				}
			}
		}
	}
}

// benchBlock is a block of samples of both signs, none beyond full scale.
func benchBlock(channels int) stages.Block {
	b := stages.NewBlock(channels, 4096)
	for c := range b {
		for i := range b[c] {
			b[c][i] = 0.9 * math.Sin(float64(i*i+c))
		}
	}
	return b
}

func BenchmarkDecode(b *testing.B) {
	for _, e := range append([]Encoding{PCM8}, OutputEncodings()...) {
		for _, channels := range []int{1, 2, 6} {
			b.Run(fmt.Sprintf("%s/%d", e, channels), func(b *testing.B) {
				k, _ := e.codec()
				dst := benchBlock(channels)
				src := make([]byte, dst.Frames()*channels*k.size)
				if k.encode != nil {
					k.encode(src, dst)
				}
				b.ReportAllocs()
				b.SetBytes(int64(len(src)))
				for b.Loop() {
					k.decode(dst, src)
				}
			})
		}
	}
}

func BenchmarkEncode(b *testing.B) {
	for _, e := range OutputEncodings() {
		for _, channels := range []int{1, 2, 6} {
			b.Run(fmt.Sprintf("%s/%d", e, channels), func(b *testing.B) {
				k, _ := e.codec()
				src := benchBlock(channels)
				dst := make([]byte, src.Frames()*channels*k.size)
				b.ReportAllocs()
				b.SetBytes(int64(len(dst)))
				for b.Loop() {
					k.encode(dst, src)
				}
			})
		}
	}
}

// A limited sample is one that the encoder would limit, and is written as the encoder would have.
func TestLimitedBeforeTheEncoder(t *testing.T) {
	for _, e := range []Encoding{PCM16, PCM24, PCM32} {
		k, _ := e.codec()
		bits := 8 * k.size
		full := math.Ldexp(1, bits-1)
		values := []float64{math.MaxFloat64, -math.MaxFloat64, 2, -2}
		for _, centre := range []float64{-full, 0, full - 1} {
			for q := -8.0; q <= 8; q++ {
				x := (centre + q/4) / full
				values = append(values, x, math.Nextafter(x, 2), math.Nextafter(x, -2))
			}
		}
		for _, x := range values {
			want, wantLimited := slowCode(x, bits)
			y := []float64{x}
			limited, largest := e.Limit(y)
			if again, _ := e.Limit(y); limited != wantLimited || again != 0 ||
				largest != math.Abs(x)*float64(limited) {
				t.Errorf("%s %g: %d limited, then %d, the largest %g; want %d and 0", e, x, limited, again, largest,
					wantLimited)
			}
			if limited == 0 && y[0] != max(x, -1) || limited == 1 && y[0]*full != float64(want) {
				t.Errorf("%s %g becomes %g codes, want %d", e, x, y[0]*full, want)
			}
		}
	}
	odd := []float64{math.Inf(1), math.Inf(-1), math.NaN(), 3}
	if limited, _ := PCM16.Limit(odd[:3]); limited != 0 {
		t.Errorf("%d limited of samples that are not finite", limited)
	}
	if limited, _ := Float32.Limit(odd); limited != 0 || odd[3] != 3 {
		t.Errorf("floating point limits %d", limited)
	}
}
