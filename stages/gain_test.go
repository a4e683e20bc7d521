package stages_test

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

// gainOf makes gains of that many dB.
func gainOf(db float64) stagetest.Maker {
	return mustBuild("gain", stages.Settings{"gain_db": db})
}

// mustBuild makes stages of that kind whose settings are known to be right.
func mustBuild(kind string, s stages.Settings) stagetest.Maker {
	return func(f stages.Format) stages.Stage {
		k, _ := stages.KindNamed(kind)
		k.Fill(s)
		stage, err := stages.Build(kind, f, s)
		if err != nil {
			panic(err)
		}
		return stage
	}
}

// oneChannel renders samples as a track of one channel.
func oneChannel(make stagetest.Maker, x ...float64) []float64 {
	s := make(stages.Format{Rate: 44100, Channels: 1})
	return stagetest.Render(s, stages.Block{x})[0]
}

// equalBits says whether a and b are the same to the last bit.
func equalBits(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }

func TestGainSuite(t *testing.T) {
	for _, db := range []float64{0, math.Copysign(0, -1), 4.5, -60, 60} {
		by := math.Pow(10, db/20)
		t.Run(fmt.Sprint(db, " dB"), func(t *testing.T) {
			stagetest.Suite(t, gainOf(db), stagetest.Options{Want: func(x float64) float64 { return by * x }})
		})
	}
}

// Nothing comes closer to the limits of float64 than these, and 0 dB is to
// pass them bit for bit, a number that is none with what it carries in its
// bits.
func TestGainOfNothingIsExact(t *testing.T) {
	in := []float64{0, math.Copysign(0, -1), math.SmallestNonzeroFloat64, -0x1p-1050, 1, -1,
		math.Nextafter(1, 2), math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN(),
		math.Float64frombits(0x7ff0000000000123), math.Float64frombits(0xfff8000000000456)}
	for i, got := range oneChannel(gainOf(0), in...) {
		if !equalBits(got, in[i]) {
			t.Errorf("%x became %x", math.Float64bits(in[i]), math.Float64bits(got))
		}
	}
}

// The decibel of a magnitude is 20 log10 of it (IEC 60027-3, from memory).
func TestGainTable(t *testing.T) {
	for _, c := range []struct{ db, in, want float64 }{
		{20, 0.1, 1}, {-20, 0.5, 0.05}, {60, 0.001, 1}, {-40, -1, -0.01},
		{20 * math.Log10(2), 0.25, 0.5}, {-20 * math.Log10(2), -1, -0.5},
	} {
		got := oneChannel(gainOf(c.db), c.in)[0]
		if math.Abs(got-c.want) > 1e-15 {
			t.Errorf("%v by %v dB is %v, want %v", c.in, c.db, got, c.want)
		}
	}
}

// A gain removes nothing, so it has no effect to tell of.
func TestGainHasNoEffect(t *testing.T) {
	s := gainOf(12)(stages.Format{Rate: 44100, Channels: 1})
	stagetest.Render(s, stages.Block{{0.5, -1}})
	if got := s.Effect(); got != (stages.Effect{}) {
		t.Errorf("effect %+v", got)
	}
}

func BenchmarkGain(b *testing.B) {
	in := ramps(2)
	b.Run("0 dB", func(b *testing.B) { stagetest.Bench(b, gainOf(0), in) })
	b.Run("4 dB", func(b *testing.B) { stagetest.Bench(b, gainOf(4), in) })
}

// ramps are samples from -1 to 1, evenly spread in every block.
func ramps(channels int) stages.Block {
	b := stages.NewBlock(channels, 8*4096)
	for c := range b {
		for i := range b[c] {
			b[c][i] = math.Sin(0.01 * float64(i+c))
		}
	}
	return b
}
