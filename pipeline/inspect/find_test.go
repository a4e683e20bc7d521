package inspect

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

const rate = 48000

// sine is whole cycles of a sine that ends with a short fade.
func sine(frames int, cycles, amplitude float64) []float64 {
	x := make([]float64, frames)
	for i := range x {
		fade := min(1, float64(frames-1-i)/50)
		x[i] = amplitude * fade * math.Sin(2*math.Pi*cycles*float64(i)/float64(frames))
	}
	return x
}

func each(x []float64, f func(float64) float64) []float64 {
	y := make([]float64, len(x))
	for i := range x {
		y[i] = f(x[i])
	}
	return y
}

// coded rounds to a PCM word and limits to what it holds.
func coded(x []float64, bits int) []float64 {
	q := math.Ldexp(1, bits-1)
	return each(x, func(v float64) float64 { return min(max(math.RoundToEven(v*q), -q), q-1) / q })
}

// inspected is what is found in audio, fed in blocks of the given length.
func inspected(e audiofile.Encoding, b stages.Block, block int) *Mix {
	s := newScan(len(b), e.WordBits())
	m := meter.New(meter.Options{Rate: rate, Weights: meter.Weights(len(b), 0)})
	for at := 0; at < b.Frames(); at += block {
		part := b.Slice(at, min(at+block, b.Frames()))
		s.add(part)
		m.Write(part)
	}
	info := audiofile.Info{Rate: rate, Channels: len(b), Frames: int64(b.Frames()), Encoding: e}
	return newMix("mix.wav", info, s, m.Reading())
}

// TestFindings gives each finding a signal that has it, and one that just does not.
// The thresholds are common practice.
func TestFindings(t *testing.T) {
	const n = rate
	clean := stages.Block{coded(sine(n, 997, 0.5), 24), coded(sine(n, 211, 0.5), 24)}
	with := func(c int, at int, values ...float64) stages.Block {
		b := stages.Block{append([]float64(nil), clean[0]...), append([]float64(nil), clean[1]...)}
		copy(b[c][at:], values)
		return b
	}
	full := 1 - math.Ldexp(1, -23)
	cases := []struct {
		name     string
		encoding audiofile.Encoding
		audio    stages.Block
		want     []string // the texts of all findings
	}{
		{"nothing", audiofile.PCM24, clean, nil},
		{"no audio", audiofile.PCM24, stages.Block{nil, nil}, []string{"no audio in the file"}},
		{"three at full scale", audiofile.PCM24, with(1, 4800, full, full, full),
			[]string{
				"channel 2 looks clipped at full scale: 1 run of 3 equal samples or more, the longest 3, the " +
					"first at 0:00.100",
			}},
		{"two at full scale", audiofile.PCM24, with(1, 4800, full, full), nil},
		{"three at the smallest code", audiofile.PCM24, with(0, 9600, -1, -1, -1, -1),
			[]string{
				"channel 1 looks clipped at full scale: 1 run of 3 equal samples or more, the longest 4, the " +
					"first at 0:00.200",
			}},
		{"one run short of full scale", audiofile.PCM24, with(0, 4800, 0.75, 0.75, 0.75), nil},
		{"two runs short of full scale", audiofile.PCM24,
			with(0, 4800, 0.75, 0.75, 0.75, 0, 0.75, 0.75, 0.75, 0.75),
			[]string{
				"channel 1 looks clipped at -2.50 dBFS: 2 runs of 3 equal samples or more, the longest 4, the " +
					"first at 0:00.100",
			}},
		{
			"runs below the extreme", audiofile.PCM24, with(0, 4800, 0.75, 0.75, 0.75, 0, 0.75, 0.75, 0.75, 0, 0.8),
			nil,
		},
		{"a run that ends with the file", audiofile.PCM24, with(0, n-5, full, full, full, full, full),
			[]string{"channel 1 looks clipped at full scale: 1 run of 3 equal samples or more, the longest 5, the " +
				"first at 0:01.000",
				"the last frame is at 0.0 dBFS: cut off at the tail?"}},
		{"DC", audiofile.PCM24, stages.Block{
			coded(each(sine(n, 997, 0.05), func(v float64) float64 { return v - 0.005 }), 24), clean[1],
		},
			[]string{"channel 1 has a DC offset of -0.0050 of full scale (-46.0 dBFS)"}},
		{"absurd DC", audiofile.Float64, stages.Block{
			each(clean[0], func(float64) float64 { return 2e30 }), clean[1],
		},
			[]string{fmt.Sprintf("%d samples beyond full scale in channel 1, the largest +606.02 dBFS at 0:00.000", n),
				fmt.Sprintf("channel 1 looks clipped at 606.02 dBFS: 1 run of 3 equal samples or more, the longest %d, "+
					"the first at 0:00.000", n),
				"channel 1 has a DC offset of +2e+30 of full scale (606.0 dBFS)",
				"the first frame is at 606.0 dBFS: cut off at the head?",
				"the last frame is at 606.0 dBFS: cut off at the tail?"}},
		{"full DC", audiofile.Float64, stages.Block{
			each(clean[0], func(float64) float64 { return 0.9999 }), clean[1],
		},
			[]string{"channel 1 has a DC offset of +0.9999 of full scale (0.0 dBFS)",
				"the first frame is at 0.0 dBFS: cut off at the head?",
				"the last frame is at 0.0 dBFS: cut off at the tail?"}},
		{"silent", audiofile.PCM24, stages.Block{make([]float64, n), make([]float64, n)},
			[]string{"the file is silent: all its samples are zero"}},
		{"all but silent", audiofile.PCM24, stages.Block{coded(sine(n, 997, 5e-5), 24), make([]float64, n)},
			[]string{"nothing in the file is louder than -80 dBFS"}},
		{
			"one channel silent", audiofile.PCM24, stages.Block{clean[0], make([]float64, n)},
			[]string{"channel 2 silent"},
		},
		{
			"identical", audiofile.PCM24, stages.Block{clean[0], clean[0]}, []string{
				"channels 1 and 2 are identical: one channel, twice",
			},
		},
		{"inverted", audiofile.PCM24, stages.Block{clean[0], each(clean[0], func(v float64) float64 { return -v })},
			[]string{"channels 1 and 2 are the same with opposite signs: they cancel in mono"}},
		{"all but identical", audiofile.PCM24, stages.Block{
			clean[0], coded(each(clean[0], func(v float64) float64 { return v * 1.0005 }), 24),
		},
			[]string{"channels 1 and 2 are all but identical: their difference is more than 60 dB below them"}},
		{"silence at both ends", audiofile.PCM24, func() stages.Block {
			b := stages.NewBlock(2, 4*n)
			copy(b[0][n+n/2:], clean[0])
			copy(b[1][n+n/2:], clean[1])
			return b
		}(), []string{"1.50 s of silence before the first sound", "1.50 s of silence after the last sound"}},
		{"starts in the middle", audiofile.PCM24, stages.Block{clean[0][10:], clean[1][10:]},
			[]string{"the first frame is at -6.3 dBFS: cut off at the head?"}},
		{"16 bits in 24", audiofile.PCM24, stages.Block{coded(clean[0], 16), coded(clean[1], 16)},
			[]string{"16 of 24 bits are in use: material of a shorter word?"}},
		{
			"24 bits in a float", audiofile.Float32, clean, []string{
				"every sample fits into 24 bits: bounced from a fixed-point file?",
			},
		},
		{"beyond full scale", audiofile.Float32, with(1, 4800, 1.5, 0.3, -2.0000001),
			[]string{"2 samples beyond full scale in channel 2, the largest +6.02 dBFS at 0:00.100"}},
		{"not finite", audiofile.Float32, with(1, 4800, math.NaN(), math.Inf(1)),
			[]string{
				"2 samples not a number or infinite, the first at 0:00.100 in channel 2; the other figures " +
					"leave them out",
			}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			m := inspected(c.encoding, c.audio, 8192)
			var got []string
			for _, f := range m.Findings {
				got = append(got, f.Text)
			}
			if !reflect.DeepEqual(got, c.want) {
				t.Errorf("found\n  %s\nwant\n  %s", strings.Join(got, "\n  "), strings.Join(c.want, "\n  "))
			}
		})
	}
}

// TestBlockLength feeds one mix in blocks of several lengths.
func TestBlockLength(t *testing.T) {
	b := stages.NewBlock(2, 5000)
	copy(b[0][1000:], coded(each(sine(3000, 60, 2), func(v float64) float64 { return min(v, 0.9) }), 24))
	copy(b[1][1000:], coded(sine(2990, 13, 1.2), 24))
	want := inspected(audiofile.PCM24, b, 5000)
	for _, block := range []int{1, 2, 3, 7, 999, 1000, 1001, 4999} {
		if got := inspected(audiofile.PCM24, b, block); !reflect.DeepEqual(got, want) {
			t.Errorf("blocks of %d: %+v, want %+v", block, got, want)
		}
	}
}

// TestWordBits asks for the shortest word of single values, known by their
// binary form.
func TestWordBits(t *testing.T) {
	cases := []struct {
		value float64
		bits  int
		ok    bool
	}{
		{0, 0, true}, {-1, 1, true}, {0.5, 2, true}, {-0.75, 3, true},
		{math.Ldexp(1, -15), 16, true}, {math.Ldexp(-3, -23), 24, true}, {math.Ldexp(1, -31), 32, true},
		{math.Ldexp(1, -32), 0, false}, {0.1, 0, false}, {math.NaN(), 0, false}, {math.Inf(-1), 0, false},
		{1e300, 0, false},
	}
	for _, c := range cases {
		w := wordScan{}
		w.add([]float64{c.value})
		if bits, ok := w.bits(); ok != c.ok || ok && bits != c.bits {
			t.Errorf("%v: %d %v, want %d %v", c.value, bits, ok, c.bits, c.ok)
		}
	}
}

// TestPrintEscapesNames prints a name that would break lines and colour the
// terminal, alone and in a table.
func TestPrintEscapesNames(t *testing.T) {
	m := inspected(audiofile.PCM24, stages.Block{sine(rate, 100, 0.5)}, rate)
	m.File = "a\n\x1b[31mb\xff\".wav"
	for _, found := range [][]*Mix{{m}, {m, m}} {
		var b strings.Builder
		if err := Print(&b, found, 0); err != nil {
			t.Fatal(err)
		}
		if want := `a\n\x1b[31mb\xff\".wav`; !strings.Contains(b.String(), want) ||
			strings.Contains(b.String(), "\x1b") || strings.Contains(b.String(), "\xff") {
			t.Errorf("%d printed as %q, want %s", len(found), b.String(), want)
		}
	}
}
