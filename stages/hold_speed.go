package stages

import "ledgerline/stages/portable"

// The speed of the hold is in the files hold_speed*.go: what has it done in few passes, and what lets a pass
// leave most of the track alone. What is cut where a pass does look is in the files hold_rule*.go.
const (
	// holdPasses is how many passes follow each other through the track. Six leave 4 samples of the tones in
	// HOLD.md for the clamp; ten leave the same as eight.
	holdPasses = 8
	// spare is the most that a peak comes down further than to its level, as a part of that, so that what pulses
	// near it give back does not bring it over again. With 0, 40 Hz 4 dB over leaves 260 samples for the clamp;
	// with 5e-4, 6983 Hz 2 dB over has 82 dB after a clip.
	spare = 1e-4

	// clipDelay is how many tiles before the newest one what was clipped is final and taken off, and passDelay
	// how many before that the first pass works: the tiles it looks at depend on three tiles after its own.
	clipDelay = 2 + runReach + backReach
	passDelay = 3
	// passLag is how many tiles a pass works after the one before it. That one takes its pulses off a tile
	// later, they reach one tile back from the tile they are in, and a pass looks at the next tile.
	passLag = 3
	holdLag = clipDelay + passDelay + holdPasses*passLag
)

// holdAim is how far below the ceiling, dB, a peak has to be for a pass to leave it alone. The first pass
// leaves a track alone that keeps the ceiling. Those after it look only where something may have risen, and
// aim lower by what another interpolator may make of the band's edge; less so each time, so that what has
// settled is left alone.
func holdAim(pass int) float64 {
	if pass == 0 {
		return 0
	}
	return 0.002 + float64(0.006*portable.Whole(0.4, pass-1))
}

// holdDepth is how far below the ceiling a pass takes a peak, as a part of the first pass's pulses near it,
// but not below the aim: less in each pass than in the one before it, so that what has settled is left alone.
// With 0 there are 93 dB at 6752 Hz, 4 dB over, after a clip, instead of 107.
func holdDepth(pass int) float64 { return 0.1 * portable.Whole(0.4, max(pass-1, 0)) }

// further is by how much a peak comes down that is over its level: as far again as it is over, but no more
// than spare.
func further(over, level float64) float64 { return over + min(over, spare*level) }
