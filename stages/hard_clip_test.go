package stages_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

func hardClipAt(db float64) stagetest.Maker {
	return mustBuild("hard_clip", stages.Settings{"ceiling_dbfs": db})
}

func TestHardClipSuite(t *testing.T) {
	for _, db := range []float64{0, -1, -60} {
		t.Run(fmt.Sprint(db, " dBFS"), func(t *testing.T) {
			stagetest.Suite(t, hardClipAt(db), stagetest.Options{Ceiling: stages.Linear(db), Holds: true, Books: true})
		})
	}
}

// Common practice: a hard clipper leaves everything within its ceiling
// untouched and turns the rest into the ceiling.
func TestHardClipTable(t *testing.T) {
	c := stages.Linear(-6)
	inf, small := math.Inf(1), math.SmallestNonzeroFloat64
	for _, x := range []struct{ in, want float64 }{
		{0, 0}, {math.Copysign(0, -1), math.Copysign(0, -1)}, {small, small}, {-small, -small},
		{0.5, 0.5}, {c, c}, {-c, -c}, {math.Nextafter(c, 0), math.Nextafter(c, 0)},
		{math.Nextafter(c, 1), c}, {math.Nextafter(-c, -1), -c}, {1, c}, {-1, -c}, {2, c},
		{math.MaxFloat64, c}, {-math.MaxFloat64, -c}, {inf, c}, {-inf, -c},
	} {
		// Alone, and at each place of a stretch that is otherwise within.
		for at := range 19 {
			in := make([]float64, 19)
			in[at] = x.in
			want := make([]float64, 19)
			want[at] = x.want
			for i, got := range oneChannel(hardClipAt(-6), in...) {
				if !equalBits(got, want[i]) {
					t.Errorf("%v at %d: frame %d is %v, want %v", x.in, at, i, got, want[i])
				}
			}
		}
	}
	nan := math.Float64frombits(0x7ff8000000000123)
	if got := oneChannel(hardClipAt(-6), nan)[0]; !equalBits(got, nan) {
		t.Errorf("a sample that is not a number became %v", got)
	}
}

// Whatever share of the samples is over, the outcome is that of the plainest
// way of clipping.
func TestHardClipAgainstMinMax(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	for _, spread := range []float64{0.9, 1.001, 1.1, 2, 50} {
		in := make([]float64, 5000)
		for i := range in {
			in[i] = spread * (2*random.Float64() - 1)
		}
		for i, got := range oneChannel(hardClipAt(0), in...) {
			if want := math.Max(-1, math.Min(1, in[i])); !equalBits(got, want) {
				t.Fatalf("spread %v: %v became %v, want %v", spread, in[i], got, want)
			}
		}
	}
}

func TestHardClipEffect(t *testing.T) {
	for _, c := range []struct {
		in   []float64
		want stages.Effect
	}{
		{[]float64{0.5, -1, 1}, stages.Effect{}},
		{[]float64{1.5, -1.25, 0.5}, stages.Effect{Touched: 2, Cut: 1.5, Removed: 0.25 + 0.0625}},
		{[]float64{0, -4}, stages.Effect{Touched: 1, Cut: 4, Removed: 9}},
		{[]float64{math.Inf(-1), 2, math.NaN()}, stages.Effect{Touched: 2, Cut: 2, Removed: 1}},
	} {
		s := hardClipAt(0)(stages.Format{Rate: 44100, Channels: 1})
		stagetest.Render(s, stages.Block{c.in})
		if got := s.Effect(); got != c.want {
			t.Errorf("%v: effect %+v, want %+v", c.in, got, c.want)
		}
	}
}

func BenchmarkHardClip(b *testing.B) {
	in := ramps(2)
	for _, c := range []struct {
		name string
		db   float64
	}{
		{"none over", 0},
		{"3% over", stages.DB(math.Cos(0.03 * math.Pi / 2))}, // a sine's share beyond cos(a) is 2a/pi
		{"30% over", stages.DB(math.Cos(0.3 * math.Pi / 2))},
	} {
		b.Run(c.name, func(b *testing.B) { stagetest.Bench(b, hardClipAt(c.db), in) })
	}
}
