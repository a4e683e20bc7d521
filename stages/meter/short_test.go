package meter

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// sampleAt is x[i], 0 outside x.
func sampleAt(x []float64, i int) float64 {
	if i < 0 || i >= len(x) {
		return 0
	}
	return x[i]
}

// oneValue is what taps, the first for the earliest sample, make as frame i of x comes in.
func oneValue(taps, x []float64, i int) (y float64) {
	for j, h := range taps {
		y += h * sampleAt(x, i-len(taps)+1+j)
	}
	return y
}

// shortSignals are of all kinds: what is skipped most, what is skipped never, and what is over only at an
// end.
func shortSignals(rate int) []stages.Block {
	seconds := long.Or(0.2, 0.5)
	atEnd, late := noise(3000, 5), make([]float64, 2048+5)
	atEnd[0], atEnd[len(atEnd)-1] = 30, -40
	late[len(late)-1] = 1
	signals := []stages.Block{
		{noise(10007, 1)}, {noise(1024, 2), noise(1024, 3)}, {atEnd}, {late}, {{0.5}},
		programme(rate, seconds, uint64(rate)), patchy(rate, seconds, 4),
	}
	driven := programme(rate, seconds, 7)
	scale(driven, 4)
	clip(driven, 0.9)
	signals = append(signals, driven)
	for _, f := range []float64{0.01, 0.1, 0.2, 0.25, 0.3, 0.37, 0.44, 0.47, 0.4999} {
		x := make([]float64, 5000)
		tone(x, 0.8, f, 1+f)
		y := append([]float64(nil), x...)
		fade(y, 1000)
		signals = append(signals, stages.Block{x}, stages.Block{y})
	}
	return signals
}

// shortMeters are both, with taps of each phase worked out again, the first for the earliest sample: those of
// the sinc from the formula for each place of the finer grid, those of the recommendation from its printed
// table.
func shortMeters(rate, channels int) []struct {
	name    string
	fresh   func() *ShortMeter
	taps    [][]float64
	samples bool
} {
	var printed [][]float64
	for p := range 4 {
		var taps []float64
		for i := range annex2 {
			taps = append(taps, annex2[len(annex2)-1-i][p])
		}
		printed = append(printed, taps)
	}
	factor := 4
	if rate >= 96000 {
		factor = 2
	}
	var sinc [][]float64
	for p := 1; p < factor && rate < 192000; p++ {
		var taps []float64
		for j := 48; j >= 0; j-- {
			if j%factor != p {
				continue
			}
			x := math.Pi * float64(j-24) / float64(factor)
			s := math.Sin(math.Pi * float64(j) / 48)
			taps = append(taps, s*s*math.Sin(x)/x)
		}
		sinc = append(sinc, taps)
	}
	return []struct {
		name    string
		fresh   func() *ShortMeter
		taps    [][]float64
		samples bool
	}{
		{"bs1770", func() *ShortMeter { return NewBS1770(channels) }, printed, false},
		{"sinc49", func() *ShortMeter { return NewSinc49(rate, channels) }, sinc, true},
	}
}

// annex2 is the table of ITU-R BS.1770-5, Annex 2, section 3, as printed: rows are taps, columns phases.
var annex2 = [12][4]float64{
	{0.0017089843750, -0.0291748046875, -0.0189208984375, -0.0083007812500},
	{0.0109863281250, 0.0292968750000, 0.0330810546875, 0.0148925781250},
	{-0.0196533203125, -0.0517578125000, -0.0582275390625, -0.0266113281250},
	{0.0332031250000, 0.0891113281250, 0.1015625000000, 0.0476074218750},
	{-0.0594482421875, -0.1665039062500, -0.2003173828125, -0.1022949218750},
	{0.1373291015625, 0.4650878906250, 0.7797851562500, 0.9721679687500},
	{0.9721679687500, 0.7797851562500, 0.4650878906250, 0.1373291015625},
	{-0.1022949218750, -0.2003173828125, -0.1665039062500, -0.0594482421875},
	{0.0476074218750, 0.1015625000000, 0.0891113281250, 0.0332031250000},
	{-0.0266113281250, -0.0582275390625, -0.0517578125000, -0.0196533203125},
	{0.0148925781250, 0.0330810546875, 0.0292968750000, 0.0109863281250},
	{-0.0083007812500, -0.0189208984375, -0.0291748046875, 0.0017089843750},
}

// TestShortAgainstEveryValue: nothing is skipped that would have counted.
func TestShortAgainstEveryValue(t *testing.T) {
	for _, rate := range []int{44100, 192000, 96000}[:long.Or(2, 3)] {
		for n, b := range shortSignals(rate) {
			for _, c := range shortMeters(rate, len(b)) {
				m := c.fresh()
				m.Write(b)
				var want float64
				for _, x := range b {
					for i := range len(x) + 48 {
						if c.samples {
							want = max(want, math.Abs(sampleAt(x, i)))
						}
						for _, taps := range c.taps {
							want = max(want, math.Abs(oneValue(taps, x, i)))
						}
					}
				}
				near(t, fmt.Sprintf("%s at %d Hz, signal %d", c.name, rate, n), m.Peak(), want, 1e-13*want)
			}
		}
	}
}

// TestShortBlocks: block lengths, and readings in between, change no bit.
func TestShortBlocks(t *testing.T) {
	b := programme(44100, 0.7, 3)
	scale(b, 3)
	clip(b, 0.9)
	for _, c := range shortMeters(44100, 2) {
		whole := c.fresh()
		whole.Write(b)
		for _, length := range []int{1, 7, 64, 4096} {
			m := c.fresh()
			for at := 0; at < b.Frames(); at += length {
				m.Write(b.Slice(at, min(b.Frames(), at+length)))
				if at%1001 == 0 {
					m.Peak()
				}
			}
			if got, want := m.Peak(), whole.Peak(); got != want {
				t.Errorf("%s in blocks of %d reads %v, not %v", c.name, length, got, want)
			}
		}
	}
}

// TestShortIsFollowed: at any frame the reading is that of the signal that ends there.
func TestShortIsFollowed(t *testing.T) {
	x := noise(2200, 8)
	for i := range x {
		x[i] *= float64(i)
	}
	for _, c := range shortMeters(44100, 1) {
		m := c.fresh()
		for n := 1; n <= len(x); n++ {
			m.Write(stages.Block{x[n-1 : n]})
			if n%17 != 0 && n < 2040 {
				continue
			}
			alone := c.fresh()
			alone.Write(stages.Block{x[:n]})
			if got, want := m.Peak(), alone.Peak(); got != want {
				t.Fatalf("%s after %d frames reads %v, not %v", c.name, n, got, want)
			}
		}
	}
}

// TestShortSilence: silence reads 0, and so does nothing at all.
func TestShortSilence(t *testing.T) {
	for _, c := range shortMeters(48000, 2) {
		m := c.fresh()
		if got := m.Peak(); got != 0 {
			t.Errorf("%s: nothing reads %v", c.name, got)
		}
		m.Write(stages.NewBlock(2, 5000))
		if got := m.Peak(); got != 0 {
			t.Errorf("%s: silence reads %v", c.name, got)
		}
	}
}

// TestShortOddSamples: samples that are no numbers count as 0, and what is too large is brought within
// bounds.
func TestShortOddSamples(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range shortMeters(48000, 1) {
		odd, plain := noise(3000, 4), noise(3000, 4)
		for _, at := range []int{0, 900, 1023, 1024, 1700, 2999} {
			odd[at], plain[at] = []float64{math.NaN(), inf, -inf}[at%3], 0
		}
		a, b := c.fresh(), c.fresh()
		a.Write(stages.Block{odd})
		b.Write(stages.Block{plain})
		if a.Peak() != b.Peak() {
			t.Errorf("%s: what is no number reads %v, zeros in its place %v", c.name, a.Peak(), b.Peak())
		}
		odd[900], plain[900] = -math.MaxFloat64, -huge
		a, b = c.fresh(), c.fresh()
		a.Write(stages.Block{odd})
		b.Write(stages.Block{plain})
		if a.Peak() != b.Peak() || !(a.Peak() >= 0.9*huge && a.Peak() <= 3*huge) {
			t.Errorf("%s: the largest number reads %v, %v in its place %v", c.name, a.Peak(), huge, b.Peak())
		}
	}
}

// TestShortAllocates: nothing, once it is there.
func TestShortAllocates(t *testing.T) {
	b := stages.Block{noise(4096, 1), noise(4096, 2)}
	for _, c := range shortMeters(44100, 2) {
		m := c.fresh()
		if n := testing.AllocsPerRun(20, func() { m.Write(b) }); n != 0 {
			t.Errorf("%s allocates %v times a block", c.name, n)
		}
	}
}

// TestShortPair: both meters of one signal read what each reads by itself, whichever of them is told of it,
// and the block may be used for something else at once.
func TestShortPair(t *testing.T) {
	b := programme(44100, 0.7, 3)
	for _, odd := range []int{-1, 9000} { // from a sample that is no number on, nothing is read where it lies
		if odd > 0 {
			b[0][odd] = math.Inf(1)
		}
		bsAlone, sincAlone := NewBS1770(len(b)), NewSinc49(44100, len(b))
		for at := 0; at < b.Frames(); at += 100 {
			part := b.Slice(at, min(b.Frames(), at+100))
			bsAlone.Write(part)
			sincAlone.Write(part)
		}
		for told, length := range []int{4096, 5000} {
			bs, sinc := NewShort(44100, len(b))
			buffer := stages.NewBlock(len(b), 0)
			for at := 0; at < b.Frames(); at += length {
				buffer = buffer.Empty().Append(b.Slice(at, min(b.Frames(), at+length)))
				[]*ShortMeter{bs, sinc}[told].Write(buffer)
				for _, x := range buffer {
					for i := range x {
						x[i] = 99
					}
				}
			}
			if bs.Peak() != bsAlone.Peak() || sinc.Peak() != sincAlone.Peak() {
				t.Errorf("blocks of %d: together %v and %v, alone %v and %v", length, bs.Peak(), sinc.Peak(),
					bsAlone.Peak(), sincAlone.Peak())
			}
		}
	}
}
