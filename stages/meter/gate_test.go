package meter

import "testing"

// TestBlockAtTheGateInForce: the loudness of a gated block is to be above the gate, not at it
// (BS.1770-5 Annex 1 eq. (6) and (7): l_j > gate). One block lies at the absolute gate, which is in force
// because all others are within 10 LU of it. At this rate a block is 2^14 frames, so its mean is exact.
func TestBlockAtTheGateInForce(t *testing.T) {
	const rate, frames = 40960, 1 << 14
	gate := meanSquare(-70)
	l := loudness{rate: rate}
	for range 4 {
		l.steps = append(l.steps, gate*frames/4)
	}
	for range 40 {
		l.steps = append(l.steps, 4*gate*frames/4)
	}
	// Blocks that have 1, 2 and 3 louder steps, and 37 of louder ones only, in quarters of the gate.
	want := lufs(gate * (7 + 10 + 13 + 37*16) / 4 / 40)
	near(t, "integrated without the block at the gate", l.integrated(), want, 1e-9)
}
