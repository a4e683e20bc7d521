package stages_test

import (
	"math"
	"testing"

	"ledgerline/stages"
)

// No sample rises further than its rise, and some come near; and five standard deviations
// of the error, measured on inputs all over a step, are what a true peak's rise is reckoned with.
func TestRiseOfADither(t *testing.T) {
	const n = 200000
	in := make([]float64, n)
	for i := range in {
		in[i] = 1000 + math.Mod(float64(i)*0.6180339887498949, 1)
	}
	for _, density := range []string{"triangular", "rectangular", "none"} {
		s := stages.Settings{"bits": int64(bitsHere), "density": density, "seed": int64(0)}
		kind, _ := stages.KindNamed("dither")
		make := func(f stages.Format) stages.Stage {
			stage, err := kind.New(f, s)
			if err != nil {
				t.Fatal(err)
			}
			return stage
		}
		highest, squares := 0.0, 0.0
		for _, e := range ditherErrors(make, mono, in) {
			highest, squares = max(highest, e), squares+e*e
		}
		rise := stages.RiseOf(s)
		if want := rise.Sample * stepsHere; highest > want || highest < 0.95*want {
			t.Errorf("%s: a sample rises by %v steps, want nearly %v", density, highest, want)
		}
		// The error's fourth moment is below 3 times its variance squared: 4 standard deviations of the
		// estimate are below 4*sqrt(2/n) of it, half that of its root.
		if got, want := 5*math.Sqrt(squares/n), rise.True*stepsHere; math.Abs(got/want-1) > 2*math.Sqrt(2.0/n) {
			t.Errorf("%s: five standard deviations are %v steps, want %v", density, got, want)
		}
	}
}

// A hold that aims lower does what one with that lower ceiling does, but counts what is beyond its own
// ceiling.
func TestHoldThatAimsLower(t *testing.T) {
	for _, peak := range []string{"true", "sample"} {
		in := driven(noiseBursts(20000, 1)[1500:4500], 6)
		kind, _ := stages.KindNamed("ceiling_hold")
		at := func(db, lower float64) stages.Stage {
			s, err := kind.New(stages.Format{Rate: 44100, Channels: 1, AimLowerDB: lower}, stages.Settings{
				"ceiling_dbfs": db, "peak": peak, "method": "band_limited",
			})
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		run := func(s stages.Stage) []float64 {
			return s.Flush(s.Process(stages.NewBlock(1, 0), stages.Block{in}))[0]
		}
		lower, low := run(at(-1, 2)), run(at(-3, 0))
		for i := range in {
			if math.Abs(lower[i]-low[i]) > 1e-9 {
				t.Fatalf("%s: frame %d is %v, want %v", peak, i, lower[i], low[i])
			}
		}
	}
}
