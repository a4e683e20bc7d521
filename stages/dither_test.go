package stages_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

func ditherTo(bits int64, density string) stagetest.Maker {
	return mustBuild("dither", stages.Settings{"bits": bits, "density": density})
}

func ditherBelow(bits int64, density string, ceilingDBFS float64) stagetest.Maker {
	return mustBuild("dither", stages.Settings{"bits": bits, "density": density, "ceiling_dbfs": ceilingDBFS})
}

func TestDitherSuite(t *testing.T) {
	// The noise reaches half its width, and rounding half a step further.
	for density, steps := range map[string]float64{"triangular": 1.5, "rectangular": 1, "none": 0.5} {
		for _, bits := range long.Or([]int64{16}, []int64{2, 16, 24, 32}) {
			t.Run(fmt.Sprint(density, bits), func(t *testing.T) {
				o := stagetest.Options{Ceiling: 1, Holds: true, Within: steps * math.Ldexp(1, int(1-bits))}
				stagetest.Suite(t, ditherTo(bits, density), o)
				o.Ceiling = stages.Linear(-1)
				stagetest.Suite(t, ditherBelow(bits, density, -1), o)
			})
		}
	}
}

// Rounding goes to the nearest code and to the even one from half way between
// (IEEE 754, roundTiesToEven); codes reach from -2^(bits-1) to 2^(bits-1)-1.
func TestDitherRounding(t *testing.T) {
	for _, c := range []struct {
		bits int64
		in   float64 // in codes
		want float64 // in codes
	}{
		{16, 0, 0}, {16, 0.5, 0}, {16, 1.5, 2}, {16, 2.5, 2}, {16, -0.5, 0}, {16, -1.5, -2}, {16, -2.5, -2},
		{16, 0.4999, 0}, {16, 0.5001, 1}, {16, -0.5001, -1}, {16, 1234.3, 1234}, {16, math.Copysign(0, -1), 0},
		{16, 32766.6, 32767}, {16, 32767, 32767}, {16, 32767.4, 32767}, {16, 32767.6, 32767}, {16, 32768, 32767},
		{16, 1e300, 32767},
		{16, -32767.6, -32768}, {16, -32768.4, -32768}, {16, -40000, -32768}, {16, math.Inf(1), 32767},
		{16, math.Inf(-1), -32768},
		{2, 0.4, 0}, {2, 1.2, 1}, {2, 1.6, 1}, {2, -1.6, -2}, {2, -3, -2},
		{24, 8388607.4, 8388607}, {24, -8388609, -8388608}, {24, 4194303.5, 4194304},
		{32, 2147483647, 2147483647}, {32, 2147483648, 2147483647}, {32, -2147483649, -2147483648},
		{32, 2147483646.5, 2147483646}, {32, -2147483645.5, -2147483646}, {32, 1.25, 1},
	} {
		scale := math.Ldexp(1, int(c.bits-1))
		got := oneChannel(ditherTo(c.bits, "none"), c.in/scale)[0] * scale
		if !equalBits(got, c.want) {
			t.Errorf("%d bits: %v became code %v, want %v", c.bits, c.in, got, c.want)
		}
	}
	if got := oneChannel(ditherTo(16, "triangular"), math.NaN())[0]; !math.IsNaN(got) {
		t.Errorf("a sample that is not a number became %v", got)
	}
}

// Words of the length asked for pass where there is no noise; and rectangular
// noise is too narrow to move a sample that is a code already: its error power
// f(1-f) q^2 is 0 there.
func TestDitherPassesCodes(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 1))
	for _, bits := range []int64{2, 8, 16, 24, 32} {
		in := []float64{-1, 1 - math.Ldexp(1, int(1-bits)), 0}
		for range 3000 {
			code := random.Int64N(1<<bits) - 1<<(bits-1)
			in = append(in, math.Ldexp(float64(code), int(1-bits)))
		}
		for _, density := range []string{"none", "rectangular"} {
			for i, got := range oneChannel(ditherTo(bits, density), in...) {
				if !equalBits(got, in[i]) {
					t.Fatalf("%d bits, %s: %v became %v", bits, density, in[i], got)
				}
			}
		}
	}
}

// Every sample out is a code of the word length, whatever comes in, and none
// lies beyond the ceiling; the largest code within it is reached.
func TestDitherCodes(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 2))
	in := []float64{7, -7}
	for range 3000 {
		in = append(in, 3*random.NormFloat64())
	}
	for _, bits := range []int64{2, 3, 8, 16, 24, 32} {
		scale := math.Ldexp(1, int(bits-1))
		for _, db := range []float64{0, -0.1, -1, -3, -6, -59.9} {
			within := math.Floor(math.Pow(10, db/20) * scale)
			if within == 0 {
				continue
			}
			top, bottom := math.Min(within, scale-1), -within
			for density := range map[string]bool{"triangular": true, "rectangular": true, "none": true} {
				out := oneChannel(ditherBelow(bits, density, db), in...)
				for i, x := range out {
					if code := x * scale; code != math.Trunc(code) || code > top || code < bottom {
						t.Fatalf("%d bits, %s, %v dBFS: %v became code %v, want a whole one in %v to %v", bits, density, db,
							in[i], code, bottom, top)
					}
				}
				if out[0]*scale != top || out[1]*scale != bottom {
					t.Errorf("%d bits, %s, %v dBFS: ends at %v and %v, want %v and %v", bits, density, db, out[1]*scale,
						out[0]*scale, bottom, top)
				}
			}
		}
	}
}

func TestDitherEffect(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		make stagetest.Maker
		in   []float64
		want stages.Effect
	}{
		{ditherTo(16, "triangular"), []float64{0.3, -0.3, 0, 0.999}, stages.Effect{}},
		{ditherTo(4, "none"), []float64{0.3, -1, 0.875, nan}, stages.Effect{}},
		{ditherTo(4, "none"), []float64{1, 0.25}, stages.Effect{Touched: 1, Cut: 8. / 7, Removed: 0.125 * 0.125}},
		{
			ditherTo(4, "none"), []float64{2, -2, inf, -inf}, stages.Effect{
				Touched: 4, Cut: 16. / 7, Removed: 1.125*1.125 + 1, Clamped: 4,
			},
		},
		// -6 dBFS is 4.009 codes of 8.
		{ditherBelow(4, "none", -6), []float64{0.5, -0.5, 0.55}, stages.Effect{}},
		{
			ditherBelow(4, "none", -6), []float64{0.625, -0.75}, stages.Effect{
				Touched: 2, Cut: 1.5, Removed: 0.125*0.125 + 0.25*0.25,
			},
		},
		// A quarter is 32 codes of 128: four codes off are dither's own, five are clipped.
		{
			ditherBelow(8, "none", -12), []float64{36. / 128, -36. / 128}, stages.Effect{
				Touched: 2, Cut: 36. / 32, Removed: 2. / 32 / 32,
			},
		},
		{
			ditherBelow(8, "none", -12), []float64{37. / 128, -40. / 128}, stages.Effect{
				Touched: 2, Cut: 40. / 32, Removed: (25. + 64) / 128 / 128, Clamped: 2,
			},
		},
	} {
		s := c.make(stages.Format{Rate: 44100, Channels: 1})
		stagetest.Render(s, stages.Block{c.in})
		if got := s.Effect(); got != c.want {
			t.Errorf("%v: effect %+v, want %+v", c.in, got, c.want)
		}
	}
}

// A ceiling below the first code would leave silence; the level that the error
// names must do.
func TestDitherWithoutCodes(t *testing.T) {
	build := func(bits int64, db float64) error {
		_, err := stages.Build("dither", stages.Format{Rate: 44100, Channels: 2}, stages.Settings{
			"bits": bits, "density": "none", "seed": int64(0), "ceiling_dbfs": db,
		})
		return err
	}
	for bits := int64(2); bits <= 10; bits++ {
		err := build(bits, -60)
		if err == nil {
			t.Fatalf("%d bits: no error", bits)
		}
		var least float64
		_, told, _ := strings.Cut(err.Error(), "it takes ")
		if _, err := fmt.Sscanf(told, "%f", &least); err != nil {
			t.Fatalf("%q names no level", told)
		}
		if err := build(bits, least); err != nil {
			t.Error(err)
		}
		if err := build(bits, least-0.02); err == nil {
			t.Errorf("%d bits: %v dBFS does as well", bits, least-0.02)
		}
	}
	if err := build(11, -60); err != nil {
		t.Error(err)
	}
	want := "ceiling_dbfs -60 leaves no code but 0 at 4 bits: it takes -18.06 or more"
	if got := build(4, -60).Error(); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func BenchmarkDither(b *testing.B) {
	for _, density := range []string{"triangular", "rectangular", "none"} {
		b.Run(density, func(b *testing.B) { stagetest.Bench(b, ditherBelow(24, density, 0), ramps(2)) })
	}
}
