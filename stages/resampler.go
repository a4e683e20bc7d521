package stages

import (
	"sync"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// The filter of a change of rate, in terms of the lower of both rates. It passes 20 kHz of 44.1, and stops at half the
// lower rate, so that neither images nor aliases are left, not even above the pass band.
const (
	resamplePass  = 20000.0 / 44100
	resampleStop  = 0.5
	resampleReach = 120 // frames at the lower rate to each side
	// The window's shape for 166 dB, by Kaiser's formula 0.1102 (dB - 8.7). The formula for the length then asks for a reach of
	// (166 - 7.95) / (2 * 14.36 * (stop - pass)) = 118.4 frames.
	resampleShape = 0.1102 * (166 - 8.7)
)

// A resampling is the filter of one ratio of rates: a row of taps for each place that a frame going out may have
// between two coming in.
type resampling struct {
	up, down int
	taps     int // of a row; a multiple of kernel.RowGroup
	lead     int // taps for frames before the place, or at it, less one
	rows     []float64
}

// resamplings are those made so far, by their ratio. Making one takes as long as a second of audio.
var resamplings sync.Map

func resamplingFor(up, down int) *resampling {
	if r, ok := resamplings.Load([2]int{up, down}); ok {
		return r.(*resampling)
	}
	r, _ := resamplings.LoadOrStore([2]int{up, down}, newResampling(up, down))
	return r.(*resampling)
}

func newResampling(up, down int) *resampling {
	r := &resampling{up: up, down: down}
	reach := resampleReach
	if down > up {
		reach = (resampleReach*down + up - 1) / up
	}
	r.lead = reach - 1
	r.taps = (2*reach + kernel.RowGroup - 1) / kernel.RowGroup * kernel.RowGroup
	r.rows = make([]float64, up*r.taps)
	for phase := range up {
		r.design(r.row(phase), phase)
	}
	return r
}

func (r *resampling) row(phase int) []float64 { return r.rows[phase*r.taps:][:r.taps] }

// design makes the row for a place phase/up after a frame. The taps add up to 1.
func (r *resampling) design(row []float64, phase int) {
	// Lobes of the sinc per frame coming in, and in the filter's reach.
	lobes := (resamplePass + resampleStop) * min(1, float64(r.up)/float64(r.down))
	reach := (resamplePass + resampleStop) * resampleReach
	sum := 0.0
	for k := range row {
		t := float64((k-r.lead)*r.up-phase) / float64(r.up)
		row[k] = bandlimit.WindowedSinc(float64(lobes*t), reach, resampleShape)
		sum += row[k]
	}
	for k := range row {
		row[k] /= sum
	}
}

// A resampler changes the rate of one channel.
type resampler struct {
	*resampling
	held  []float64 // frames that came in, from the first that the next one going out needs
	phase int       // of the next one going out
	came  int64
	went  int64
}

func newResampler(up, down int) *resampler {
	r := &resampler{resampling: resamplingFor(up, down)}
	r.held = make([]float64, r.lead) // silence before the track
	return r
}

func (r *resampler) push(dst, x []float64) []float64 {
	r.came += int64(len(x))
	r.held = append(r.held, x...)
	return r.advance(dst, r.ready())
}

func (r *resampler) flush(dst []float64) []float64 {
	left := int((r.came*int64(r.up)+int64(r.down)-1)/int64(r.down) - r.went)
	for left > 0 {
		r.held = append(r.held, make([]float64, r.taps)...)
		n := min(left, r.ready())
		dst = r.advance(dst, n)
		left -= n
	}
	return dst
}

// took is nothing: the programme is the same at another rate.
func (r *resampler) took() Effect { return Effect{} }

// ready is how many frames can go out.
func (r *resampler) ready() int {
	spare := len(r.held) - r.taps
	if spare < 0 {
		return 0
	}
	// The last of n is at (phase + (n-1) down) / up.
	return ((spare+1)*r.up - r.phase + r.down - 1) / r.down
}

// advance appends the next n frames.
func (r *resampler) advance(dst []float64, n int) []float64 {
	at := 0
	for range n {
		dst = append(dst, kernel.Row(r.held[at:at+r.taps], r.row(r.phase)))
		r.phase += r.down
		at += r.phase / r.up
		r.phase %= r.up
	}
	r.went += int64(n)
	r.held = r.held[:copy(r.held, r.held[at:])]
	return dst
}
