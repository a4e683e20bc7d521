// Package along is the record along the track: what happened where in a render. A ledger's figures are of a
// whole track; the record has them in columns from its start to its end, how often levels near the ceiling
// occur, the spectrum of what the chain changed, and the waveform around the deepest cuts and the moments
// furthest over the mask.
//
// The records of all renders of a ledger are one file beside it, a line of JSON each. The ledger has the hash
// of each line, by which it is found again. Levels are rounded to 0.01 dB and samples to 1e-4 of full scale,
// so that the file is small: it is there to be looked at, and the figures of the ledger are the exact ones.
package along

// MostColumns is the largest number of columns in a record.
const MostColumns = 700

// perSecond is how many segments a second has, of which a column has a whole number: 10 ms each.
const perSecond = 100

// Record is what happened along one render. The driven input is the mix at the gain that the chain's gain
// stages declare.
type Record struct {
	Track    string `json:"track"`             // its name
	Variant  string `json:"variant,omitempty"` // empty: the release's own chain
	RateHz   int    `json:"rate_hz"`           // frames a second
	Channels int    `json:"channels"`          // 1 or more
	Frames   int64  `json:"frames"`            // samples of one channel

	// Of each column. Columns are of whole segments of 10 ms, as equal as can be.
	PeakIn  Levels `json:"peak_in_dbfs"`  // sample peak of the driven input; null: silence
	PeakOut Levels `json:"peak_out_dbfs"` // of the chain's output
	// of the output: the largest of the 400 ms that end in the column, every 100 ms; where none does, as before;
	// null: none yet, or silence
	Momentary Levels `json:"momentary_lufs"`
	// level of what was removed, relative to the driven input there; null: nothing
	Removed Levels `json:"removed_db"`
	// of the worse channel, over the windows whose middle is in the column; null: nothing was changed. Missing:
	// not measured
	NoiseToMask Levels `json:"noise_to_mask_db,omitempty"`
	// samples of the driven input beyond the chain's lowest ceiling, all channels
	Clipped []int64 `json:"clipped"`

	Near *Near `json:"near_ceiling,omitempty"` // missing: no samples
	// missing: audibility is not measured, or nothing was changed
	Spectrum *Spectrum `json:"spectrum,omitempty"`
	Cuts     []Wave    `json:"cuts,omitempty"` // around the deepest cuts, in the ledger's order
	// around the moments furthest over the mask, in the ledger's order
	Moments []Wave `json:"moments,omitempty"`
}

// Near counts the samples of all channels by their magnitude near the ceiling, in steps.
type Near struct {
	CeilingDBFS float64 `json:"ceiling_dbfs"` // the lowest of the chain; without one the release's
	FromDB      float64 `json:"from_db"`      // where the first step begins, relative to the ceiling
	StepDB      float64 `json:"step_db"`
	Samples     int64   `json:"samples"` // all there are, near the ceiling or not
	// of the driven input; the last step has all above it, and steps after the last that has any are left out
	Before []int64 `json:"before"`
	After  []int64 `json:"after"` // of the chain's output
}

// Spectrum has mean powers in bands of a quarter Bark over the windows in which something was changed, all
// channels together. A sine of full scale in the middle of a band reads 0 dB.
type Spectrum struct {
	Windows   int64  `json:"windows"`        // that something was changed in, of all channels
	Hz        []int  `json:"hz"`             // middles of the bands
	Programme Levels `json:"programme_dbfs"` // the driven input
	Mask      Levels `json:"mask_dbfs"`      // what it masks
	Changed   Levels `json:"changed_dbfs"`   // the difference of the magnitudes before and after
}

// Wave is a stretch of one channel around a frame: 1.5 ms to both sides, and Margin frames more, so that it
// can be drawn between the samples. At the ends of a track it is shorter.
type Wave struct {
	Frame   int64   `json:"frame"`   // from the start of the track
	Channel int     `json:"channel"` // from 1
	First   int64   `json:"first"`   // frame of the first value
	Driven  []int32 `json:"driven"`  // the driven input, in 1e-4 of full scale
	// the driven input minus the output before the dither; values after the last that is not 0 are left out
	Removed []int32 `json:"removed"`
}

// Margin is how many frames of a Wave lie beyond its 3 ms on each side.
const Margin = 8

// Columns is how many columns a track of so many frames has.
func Columns(rate int, frames int64) int {
	return int(min(MostColumns, Segments(rate, frames)))
}

// Bounds are the first frame of column i of n, and the first after it.
func Bounds(rate int, frames int64, i, n int) (from, to int64) {
	all := Segments(rate, frames)
	return segmentStart(rate, int64(i)*all/int64(n)), min(frames, segmentStart(rate, int64(i+1)*all/int64(n)))
}

// Segment is the number of the segment that a frame is in.
func Segment(rate int, frame int64) int64 {
	n := frame * perSecond / int64(rate)
	switch { // segments begin at the nearest frame
	case segmentStart(rate, n) > frame:
		return n - 1
	case segmentStart(rate, n+1) <= frame:
		return n + 1
	}
	return n
}

// Segments is how many segments there are in so many frames, the last perhaps not whole.
func Segments(rate int, frames int64) int64 {
	if frames == 0 {
		return 0
	}
	return Segment(rate, frames-1) + 1
}

// segmentStart is the frame that segment k begins with, as meters count them.
func segmentStart(rate int, k int64) int64 { return (k*int64(rate) + perSecond/2) / perSecond }

// Seconds is where column i begins.
func (r *Record) Seconds(i int) float64 {
	from, _ := Bounds(r.RateHz, r.Frames, i, len(r.PeakIn))
	return float64(from) / float64(r.RateHz)
}
