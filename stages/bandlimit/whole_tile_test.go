package bandlimit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What the filters read in a tile is what the transform of the whole stretch has, plain and low-passed, for a
// signal that has nothing closer to half the rate than the filters tell apart.
func TestReadTileIsLoad(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	x, w := make([]float64, WholeFrames), NewWholeBand()
	for i := range x {
		x[i] = random.NormFloat64()
	}
	w.Shaped(x, x, newShaping(21.3/44.1, 21.6/44.1, 1, 0))
	w.Load(x)
	w.LoadLow()
	whole, low := append([]float64(nil), w.whole.values...), append([]float64(nil), w.low.values...)
	for tile := 64; tile < 192; tile += 7 {
		w.ReadTile(x, tile)
		w.ReadTileLow(x, tile)
		offWhole, offLow := 0.0, 0.0
		for i := 2 * (Tile*tile - tileBefore); i < 2*(Tile*tile-tileBefore+tileFrames); i++ {
			offWhole = max(offWhole, math.Abs(w.whole.values[i]-whole[i]))
			offLow = max(offLow, math.Abs(w.low.values[i]-low[i]))
		}
		if offWhole > 3e-4 || offLow > 3e-4 {
			t.Fatalf("tile %d: off by %g, low-passed by %g, of noise of 1", tile, offWhole, offLow)
		}
	}
}

// Between samples that are lower, what a tile is read as is no higher than its bound.
func TestTileBend(t *testing.T) {
	low := tapValues(lowTaps+1, lowAt)
	low[lowTaps/2]--
	for name, taps := range map[string][]float64{
		"whole": fromLine(tapValues(wholeTaps, func(t float64) float64 {
			return sinc(t) * kaiser(t/(wholeTaps/2), kaiserBeta(80))
		})),
		"low":         fromLine(tapValues(lowTaps, lowAt)),
		"low, frames": low,
	} {
		bend, rest := ByParts(taps)
		t.Logf("%s: bend %.3f, rest %.4f", name, bend, rest)
		if bend > TileBend || rest > TileRest {
			t.Errorf("%s: bend %g, rest %g", name, bend, rest)
		}
	}
}

// High leaves no more than its bound: by its response to one sample, which has all but died down 256 frames
// away.
func TestHighBend(t *testing.T) {
	x, w := make([]float64, WholeFrames), NewWholeBand()
	const middle, around = WholeFrames / 2, 240
	x[middle] = 1
	w.Shaped(x, x, High())
	bend, rest := ByParts(x[middle-around : middle+around+1])
	for i, v := range x {
		if i < middle-around || i > middle+around {
			rest += math.Abs(v)
		}
	}
	t.Logf("bend %.3f, rest %.4f", bend, rest)
	if bend > HighBend || rest > HighRest {
		t.Errorf("bend %g, rest %g", bend, rest)
	}
}

// fromLine is by how much a value halfway differs from the mean of the samples beside it.
func fromLine(taps []float64) []float64 {
	taps[len(taps)/2-1] -= 0.5
	taps[len(taps)/2] -= 0.5
	return taps
}

// A tone above 20.5/44.1 of the rate is found by Top in whatever phase, and a peak below it by Rough.
func TestTopAndRough(t *testing.T) {
	x, w := make([]float64, WholeFrames), NewWholeBand()
	for _, hz := range []float64{
		500, 3000, 7350.5, 11025, 14700, 18000, 20000, 20500, 20800, 21100, 21500, 21900,
	} {
		for phase := range 8 {
			for i := range x {
				x[i] = math.Sin(2*math.Pi*hz/44100*float64(i) + float64(phase)*math.Pi/8)
			}
			const tile = 100
			top, rough := w.Top(x, tile*Tile), w.Rough(x, tile)
			highest := 0.0
			for i := 0; i <= 64*Tile; i++ {
				highest = max(highest,
					math.Abs(math.Sin(2*math.Pi*hz/44100*(tile*Tile+float64(i)/64)+float64(phase)*math.Pi/8)))
			}
			most := 0.0
			for _, v := range x[tile*Tile:][:TopFrames] {
				most = max(most, math.Abs(v))
			}
			if hz <= 20000 && top > 2e-3 || hz >= 20800 && top < 0.9*most {
				t.Errorf("%g Hz, phase %d: top %g of %g", hz, phase, top, most)
			}
			if rough+1.5*top < highest || hz < 3001 && rough > highest+0.01 {
				t.Errorf("%g Hz, phase %d: rough %g, top %g of %g", hz, phase, rough, top, highest)
			}
		}
	}
}
