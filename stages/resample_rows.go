package stages

import (
	"math"
	"slices"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

const (
	// rowsReach is how many lobes of its sinc a row reaches to each side.
	rowsReach = 11
	// The window's shape for 164 dB. By Kaiser's formula for the length these take a transition of
	// (164 - 7.95) / (14.36 * 2 * 11) = 0.494 of twice the lower rate; there is room for 0.5, from a quarter to
	// three quarters.
	rowsShape = 0.1102 * (164 - 8.7)
)

// A rowing goes from any rate to any other by a filter that is not steep: a row of taps for each place that a
// frame going out may have between two coming in.
type rowing struct {
	up, down int
	taps     int // of a row; a multiple of kernel.RowGroup
	lead     int // taps for frames before the place, or at it, less one
	rows     []float64
	// frames made at once: whole turns of all rows, from frames that stay in the processor's first cache
	batch int

	held  []float64 // frames that came in
	at    int       // in held, the first that the next frame going out needs; at most len(held)
	phase int       // its row
}

// newRowing has sincs of so many lobes a frame that comes in. The track begins after so many of these, and
// the first frame that goes out is number first.
func newRowing(up, down int, lobes float64, origin, first int) *rowing {
	d := divisor(up, down)
	r := &rowing{up: up / d, down: down / d}
	reach := int(math.Ceil(rowsReach / lobes))
	r.lead = reach - 1
	r.taps = (2*reach + kernel.RowGroup - 1) / kernel.RowGroup * kernel.RowGroup
	r.batch = 6 * r.up * max(1, 3000/(6*r.down))
	r.rows = make([]float64, r.up*r.taps)
	r.design(lobes)
	place := first * r.down
	r.phase = ((place % r.up) + r.up) % r.up
	r.at = origin + (place-r.phase)/r.up - r.lead
	if r.at < 0 {
		r.held, r.at = make([]float64, -r.at), 0 // silence before the track
	}
	return r
}

func (r *rowing) row(phase int) []float64 { return r.rows[phase*r.taps:][:r.taps] }

// design makes the rows, each for a place phase/up after a frame. Together their taps add up to 1 for each
// row, so that a constant is passed as it is. Those of one row need not: of steps up that are small, the rows
// let images through which are left to the steep filter.
func (r *rowing) design(lobes float64) {
	sum := 0.0
	for phase := range r.up {
		row := r.row(phase)
		for k := range row {
			t := float64((k-r.lead)*r.up-phase) / float64(r.up)
			row[k] = bandlimit.WindowedSinc(float64(lobes*t), rowsReach, rowsShape)
			sum += row[k]
		}
	}
	scale := float64(r.up) / sum
	for k := range r.rows {
		r.rows[k] *= scale
	}
}

func (r *rowing) push(dst, x []float64) []float64 {
	r.held = append(r.held, x...)
	n := r.ready()
	from := len(dst)
	dst = slices.Grow(dst, n)[:from+n]
	for y := dst[from:]; len(y) > 0; {
		k := min(len(y), r.batch)
		r.make(y[:k])
		y = y[k:]
	}
	r.forget()
	return dst
}

// forget drops what is spent, once what is left is less.
func (r *rowing) forget() {
	spent := min(r.at, len(r.held))
	if spent < len(r.held)-spent {
		return
	}
	r.held = r.held[:copy(r.held, r.held[spent:])]
	r.at -= spent
}

// ready is how many frames can go out.
func (r *rowing) ready() int {
	spare := len(r.held) - r.at - r.taps
	if spare < 0 {
		return 0
	}
	// The last of n is at (phase + (n-1) down) / up.
	return ((spare+1)*r.up - r.phase + r.down - 1) / r.down
}

// make makes the frames of y that come next. All that are as far between two that came in are made of one row
// at once.
func (r *rowing) make(y []float64) {
	at, phase := r.at, r.phase
	whole, part := r.down/r.up, r.down%r.up
	for i := range min(len(y), r.up) {
		kernel.Rows(y[i:], r.up, r.held[at:], r.down, r.row(phase), (len(y)-i+r.up-1)/r.up)
		at += whole
		if phase += part; phase >= r.up {
			phase -= r.up
			at++
		}
	}
	gone := r.phase + len(y)*r.down
	r.at += gone / r.up
	r.phase = gone % r.up
}
