package survey

import (
	"math"
	"testing"
)

// The crossings are those that the functions have on paper.
func TestCrossingOfKnownFunctions(t *testing.T) {
	for name, c := range map[string]struct {
		f        func(float64) float64
		from, to float64
		want     float64
	}{
		"a line":          {func(x float64) float64 { return 2*x - 3 }, -12, 12, 1.5},
		"a falling line":  {func(x float64) float64 { return 3 - 2*x }, -12, 12, 1.5},
		"saturating":      {func(x float64) float64 { return 1 - math.Exp(-x/3) - 0.5 }, -6, 12, 3 * math.Ln2},
		"no figure below": {func(x float64) float64 { return orNone(x < -2, x-4) }, -12, 12, 4},
		"logarithm of shares": {
			func(x float64) float64 { return math.Log(math.Max(math.Exp(1.5*x-6), leastShare)) }, 0, 12, 4,
		},
	} {
		t.Run(name, func(t *testing.T) {
			asked := 0
			met, err := crossing(func(x float64) (float64, error) { asked++; return c.f(x), nil }, c.from, c.to, 1e-3,
				toHundredths)
			last := met[len(met)-1]
			if err != nil || math.Abs(last.x-c.want) > 0.05 {
				t.Errorf("%v, %v, want %v", last, err, c.want)
			}
			if asked > mostStandIns {
				t.Errorf("asked %d times, want at most %d", asked, mostStandIns)
			}
		})
	}
}

func toHundredths(x float64) float64 { return math.Round(x*100) / 100 }

func orNone(isNone bool, y float64) float64 {
	if isNone {
		return lowest
	}
	return y
}

// Where a goal is out of reach the nearer end is the answer.
func TestACrossingOutOfReachIsTheNearerEnd(t *testing.T) {
	met, _ := crossing(func(x float64) (float64, error) { return x - 20, nil }, 0, 12, 1e-3, toHundredths)
	if last := met[len(met)-1]; last.x != 12 || len(met) != 2 {
		t.Errorf("%v after %d, want 12 after 2", last, len(met))
	}
}

// From a slope that is somewhat wrong, of a curve, three runs come near; and never are there more.
func TestTheSecantComesNearInThreeRuns(t *testing.T) {
	f := func(x float64) float64 { return 10*(1-math.Exp(-x/8)) - 5 } // crosses 0 at 8 ln 2
	runs := 0
	got := math.NaN()
	err := secant(func(x float64) (float64, error) { runs++; got = x; return f(x), nil }, nil,
		toHundredths, 5, 0.8, 0.025)
	if err != nil || math.Abs(f(got)) > 0.05 || runs > mostRuns {
		t.Errorf("%v, %v after %d runs: %v from the goal; 8 ln 2 is %v", got, err, runs, f(got), 8*math.Ln2)
	}
}

// Of a staircase the value that comes nearest is found, and no value is asked for twice.
func TestTheSecantOnAStaircase(t *testing.T) {
	asked := map[float64]bool{}
	err := secant(func(x float64) (float64, error) {
		if asked[x] {
			t.Errorf("%v asked for twice", x)
		}
		asked[x] = true
		return math.Floor(x) - 3.5, nil
	}, []point{{1, -2.5}, {6, 2.5}}, toHundredths, 4.2, 0, 0.1)
	if err != nil || len(asked) > mostRuns {
		t.Errorf("%v, %d runs", err, len(asked))
	}
}

// Around a step both values next to it are asked for, wherever the search begins; and a goal out of reach
// takes one more.
func TestClosingInOnAStep(t *testing.T) {
	for _, c := range []struct {
		step, begin, shallow, deep float64
		runs                       int
		asked                      []float64
	}{
		{3.14, 12.69, -12, 24, mostHalvings + 1, []float64{3.13, 3.14}},
		{23.5, -3, -12, 24, mostHalvings + 1, []float64{23.49, 23.5}},
		{3.14, -8, 12, -12, mostHalvings + 1, []float64{3.13, 3.14}},
		{30, 2, -12, 24, 1, []float64{24}},
		{-30, 2, -12, 24, 1, []float64{-12}},
	} {
		f := func(x float64) float64 {
			if (x >= c.step) == (c.shallow < c.deep) {
				return 2
			}
			return -4
		}
		asked := map[float64]bool{c.begin: true}
		err := closeIn(func(x float64) (float64, error) {
			if asked[x] {
				t.Errorf("%v: %v asked for twice", c, x)
			}
			asked[x] = true
			return f(x), nil
		}, []point{{c.begin, f(c.begin)}}, toHundredths, c.shallow, c.deep, 0.25)
		if err != nil || len(asked) > c.runs+1 {
			t.Errorf("%v: %v, %d runs", c, err, len(asked)-1)
		}
		for _, x := range c.asked {
			if !asked[x] {
				t.Errorf("%v: not asked for %v but for %v", c, x, asked)
			}
		}
	}
}

func TestTargetsAsTheyAreWritten(t *testing.T) {
	for text, want := range map[string]bool{
		"loudness_lufs=-9.5": true, "disturbed_percent=1": true, "removed_db=-20": true,
		"noise_to_mask_db=-15": true, "clipped_percent=0.5": true,
		"loudness_lufs": false, "foo=1": false, "loudness_lufs=loud": false, "loudness_lufs=NaN": false,
		"loudness_lufs=21":    false,
		"disturbed_percent=0": false, "disturbed_percent=101": false, "true_peak_dbtp=-1": false,
	} {
		if _, err := newTarget(text); (err == nil) != want {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// Every requirement that a target's figure is limited by is one of a measure.
func TestLimitsOfFiguresAreRequirements(t *testing.T) {
	p := &plan{limits: map[string]any{}}
	for _, f := range figures {
		if err := p.limit([]string{f.limit + "=0"}); err != nil {
			t.Errorf("%s: %v", f.name, err)
		}
	}
}
