package meter

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// cutMeters read a signal in parts, each with what is around it.
func cutMeters(o Options, x stages.Block, cuts []int, block int) (readings []Reading) {
	for k := range len(cuts) - 1 {
		m := New(o)
		if cuts[k] > 0 {
			m.Before(x.Slice(max(0, cuts[k]-Context(o.Rate)), cuts[k]), int64(cuts[k]))
		}
		for at := cuts[k]; at < cuts[k+1]; at += block {
			m.Write(x.Slice(at, min(at+block, cuts[k+1])))
		}
		end := min(x.Frames(), cuts[k+1]+Context(o.Rate))
		for at := cuts[k+1]; at < end; at += block {
			m.After(x.Slice(at, min(at+block, end)))
		}
		readings = append(readings, m.Reading())
	}
	return readings
}

// The largest true peak of the parts of a signal is that of the signal, wherever it is cut.
func TestTruePeaksOfPartsAreThoseOfTheWhole(t *testing.T) {
	long.Only(t, "TestWholeBandOfParts and TestTruePeakJustBeforeACut have parts")
	r := rand.New(rand.NewPCG(5, 6))
	for n := range long.Or(20, 60) {
		rate := []int{44100, 192000}[n%2]
		o := Options{Rate: rate, Weights: []float64{1, 1}, Ceiling: 0.5}
		frames := 3000 + r.IntN(6000)
		x := stages.NewBlock(2, frames)
		loud := r.IntN(frames) // where the largest peak is
		for i := range frames {
			near := 1.0
			if max(i-loud, loud-i) < 40 {
				near = 1.5
			}
			for c := range x {
				x[c][i] = near * 0.6 * math.Sin(2.9*float64(i)+float64(c)) * (0.8 + 0.2*math.Sin(float64(i)/50))
			}
		}
		cuts := []int{0, min(max(loud+r.IntN(9)-4, 1), frames-1), r.IntN(frames), r.IntN(frames), frames}
		slices.Sort(cuts)
		whole := New(o)
		whole.Write(x)
		top := 0.0
		for k, part := range cutMeters(o, x, cuts, 1+r.IntN(2000)) {
			top = max(top, part.TruePeak)
			alone := New(o)
			alone.Write(x.Slice(cuts[k], cuts[k+1]))
			want := alone.Reading()
			want.TruePeak = part.TruePeak
			if diff := cmp.Diff(want, part); diff != "" {
				t.Fatalf("%v, part %d: what it reads besides (-alone +here):\n%s", cuts, k, diff)
			}
		}
		if want := whole.Reading().TruePeak; top != want {
			t.Errorf("%d Hz, cut at %v of %d: %v, want %v", rate, cuts, frames, top, want)
		}
	}
}

// A peak between two samples, far from where the signal is cut, is read in its own part alone.
func TestTruePeakIsOfThePartThatHasIt(t *testing.T) {
	x, quiet := stages.NewBlock(1, 6000), stages.NewBlock(1, 6000)
	for i := range x[0] {
		x[0][i] = 0.1 * math.Sin(0.7*float64(i))
		quiet[0][i] = x[0][i]
		if i >= 2700 && i < 2790 {
			x[0][i] = 0.5 * math.Sin(math.Pi/2*float64(i)+math.Pi/4)
		}
	}
	o := Options{Rate: 44100, Weights: []float64{1}}
	whole := New(o)
	whole.Write(x)
	got := cutMeters(o, x, []int{0, 3000, 6000}, 1000)
	if a := got[0].TruePeak; a != whole.Reading().TruePeak {
		t.Errorf("the part with the peak reads %v, the whole %v", a, whole.Reading().TruePeak)
	}
	want := cutMeters(o, quiet, []int{0, 3000, 6000}, 1000)
	if b := got[1].TruePeak; b != want[1].TruePeak {
		t.Errorf("the part after it reads %v, without the peak before it %v", b, want[1].TruePeak)
	}
}

// A peak just before a cut, in the cell that is cut, is not read in the part after it.
func TestTruePeakJustBeforeACut(t *testing.T) {
	x := stages.NewBlock(1, 6000)
	for i := range x[0] {
		x[0][i] = 0.1 * math.Sin(0.7*float64(i))
		if i >= 2950 && i < 2980 {
			x[0][i] = 0.5 * math.Sin(math.Pi/2*float64(i)+math.Pi/4)
		}
	}
	for _, whole := range []bool{false, true} {
		got := cutMeters(Options{Rate: 44100, Weights: []float64{1}, WholeBand: whole}, x,
			[]int{0, 3000, 6000}, 1000)
		if a, b := got[0].TruePeak, got[1].TruePeak; a < 0.4 || b > 0.2 {
			t.Errorf("whole band %v: the parts read %v and %v", whole, a, b)
		}
	}
}

// The same of meters with short filters.
func TestShortPeaksOfPartsAreThoseOfTheWhole(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for n := range 60 {
		rate := []int{44100, 96000, 192000}[n%3]
		kinds := []func() *ShortMeter{
			func() *ShortMeter { return NewBS1770(1) }, func() *ShortMeter { return NewSinc49(rate, 1) },
		}
		x := stages.NewBlock(1, 5000)
		loud := r.IntN(5000)
		for i := range x[0] {
			x[0][i] = 0.3 * math.Sin(2.3*float64(i))
			if max(i-loud, loud-i) < 30 {
				x[0][i] *= 2
			}
		}
		cuts := []int{0, min(max(loud+r.IntN(61)-30, 1), 4999), r.IntN(5000), 5000}
		slices.Sort(cuts)
		for k, kind := range kinds {
			whole, top := kind(), 0.0
			whole.Write(x)
			for p := range len(cuts) - 1 {
				m := kind()
				if cuts[p] > 0 {
					m.Before(x.Slice(0, cuts[p]), int64(cuts[p]))
				}
				m.Write(x.Slice(cuts[p], cuts[p+1]))
				if cuts[p+1] < 5000 {
					m.After(x.Slice(cuts[p+1], 5000))
				}
				top = max(top, m.Peak())
			}
			if top != whole.Peak() {
				t.Errorf("meter %d, %d Hz, cut at %v: %v, want %v", k, rate, cuts, top, whole.Peak())
			}
		}
	}
}
