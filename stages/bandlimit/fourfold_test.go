package bandlimit

import (
	"math"
	"testing"
)

// The values at four times the rate are those of the cascade, but for what a short filter makes of
// the band's edge.
func TestFourfold(t *testing.T) {
	const n = 3000
	r := holding(Steep, 4, noise(11, n))
	tiles(n, r.Fill)
	r.Fill(Reach/Tile - 1)
	twice, off := r.ip.At(2), 0.0
	var f Fourfold
	tiles(n, func(tile int) {
		values, at := f.Fill(twice, tile)
		for i := -2; i < 4*Tile; i++ {
			off = max(off, math.Abs(values[at+i]-r.Values()[4*Tile*tile+i]))
		}
	})
	t.Logf("off by %.1e", off)
	if off > 2e-4*twice.highest(n) {
		t.Errorf("off by %v", off)
	}
}

func (r *Rate) highest(n int) (peak float64) {
	tiles(n, func(tile int) { peak = max(peak, r.Peak(tile)) })
	return peak
}
