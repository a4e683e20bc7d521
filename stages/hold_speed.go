package stages

import "ledgerline/stages/portable"

// The speed of the hold is in the files hold_speed*.go: what has it done in few passes, and what lets a pass
// leave most of the track alone. What is cut where a pass does look is in the files hold_rule*.go.
const (
	// holdPasses is how many passes follow each other through the track. On programme the last six find nothing;
	// loud tones near half the rate need them.
	holdPasses = 12

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
	return 0.002 + float64(0.006*portable.Whole(0.4, pass))
}

// holdDepth is how far below the ceiling a pass takes a peak, as a part of what is over near it in the first
// pass, and of the first pass's pulses near it in those after it: less in each pass than in the one before
// it, so that what has settled is left alone.
func holdDepth(pass int) float64 { return 0.3 * portable.Whole(0.4, pass) }
