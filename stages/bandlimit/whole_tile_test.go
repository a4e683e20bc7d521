package bandlimit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What the filters read in a tile is what the transform of the whole stretch has, plain and low-passed, for a signal that has nothing
// closer to half the rate than the filters tell apart.
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
