package stages

import (
	"fmt"
	"math"
)

// shapes are the filters of error feedback by their names: the taps c of v[n] = x[n] - c1 e[n-1] - c2 e[n-2]
// - ..., where e is the error of rounding v with its noise. The error of what comes out has the spectrum of e
// times |1 - c1/z - c2/z^2 - ...|. All zeros lie within the unit circle, so that the mean of that over
// frequency is 0 dB, and no filter can have less (M. A. Gerzon and P. G. Craven, "Optimal Noise Shaping and
// Dither of Digital Signals", AES 87th Convention, 1989, preprint 2822).
var shapes = map[string][]float64{
	"none": nil,
	// S. P. Lipshitz, J. Vanderkooy and R. A. Wannamaker, "Minimally Audible Noise Shaping", JAES 39(11), 1991,
	// 836-852: five taps.
	"weighted_5": {2.033, -2.165, 1.959, -1.590, 0.6149},
	// R. A. Wannamaker, "Psychoacoustically Optimal Noise Shaping", JAES 40(7/8), 1992, 611-620: F-weighted,
	// nine taps.
	"weighted_9": {2.412, -3.370, 3.937, -4.174, 3.353, -2.205, 1.281, -0.569, 0.0847},
}

// mostTaps is the most that a filter has.
const mostTaps = 9

// shapeOf are the taps of a dither's filter; none where its noise is white.
func shapeOf(s Settings) []float64 {
	name, _ := s["shape"].(string) // that of an older ledger lacks it
	return shapes[name]
}

// shapedAtRate fails where a filter is asked for at a rate that it was not made for.
func shapedAtRate(rate int, s Settings) error {
	if len(shapeOf(s)) == 0 || rate == 44100 || rate == 48000 {
		return nil
	}
	return fmt.Errorf("shape = %q is a filter for 44100 and 48000 Hz, and here are %d Hz; want shape = "+
		"\"none\", or a resample to one of these before it", s["shape"], rate)
}

// shapeGain is the most that a filter lifts an error by, and the power that it gives white noise of power 1.
// Both are 1 without one.
func shapeGain(taps []float64) (most, power float64) {
	most, power = 1, 1
	for _, c := range taps {
		most += math.Abs(c)
		power += float64(c * c)
	}
	return most, power
}

// blankAfter is how many samples of a channel in a row are 0 before the next one is taken for digital
// silence. Before a track's first sample there is silence.
const blankAfter = 32

// A feedback is what a dither remembers of one channel.
type feedback struct {
	errors [mostTaps]float64 // the last ones, in codes, latest first
	zeros  int               // samples before this one that are 0, up to blankAfter
}

// shape makes codes of x as quantise does, with the error fed back, and leaves digital silence alone if it is
// to.
func (d *dither) shape(x, noise []float64, f *feedback, e *Effect) {
	for i, v := range x {
		code := float64(v * d.scale)
		if math.Abs(code) < 1<<52 {
			code = d.fedBack(code, noise[i], f)
		} else {
			// it is no number, or so large that its fraction is lost: as if there were silence
			d.fedBack(0, noise[i], f)
		}
		if !(code >= d.bottom && code <= d.top) {
			code = d.limit(code, e) // which is not fed back: that would only make it last
		}
		x[i] = float64(code*d.step) + 0
	}
}

// fedBack is the code of a sample in codes.
func (d *dither) fedBack(x, noise float64, f *feedback) float64 {
	if d.blank && f.blank(x) {
		f.push(0)
		return 0
	}
	for k, c := range d.taps {
		x -= float64(c * f.errors[k])
	}
	code := math.RoundToEven(x + noise)
	f.push(code - x)
	return code
}

// blank says whether a sample is part of digital silence.
func (f *feedback) blank(x float64) bool {
	if x != 0 {
		f.zeros = 0
		return false
	}
	if f.zeros < blankAfter {
		f.zeros++
		return false
	}
	return true
}

func (f *feedback) push(e float64) {
	copy(f.errors[1:], f.errors[:mostTaps-1])
	f.errors[0] = e
}

// shapedWithoutTriangular is that noise that is shaped, but is not triangular, follows the programme.
func shapedWithoutTriangular(chain []Use, i int) []Remark {
	s := chain[i]
	density, _ := s.Settings["density"].(string)
	if len(shapeOf(s.Settings)) == 0 || density == "triangular" {
		return nil
	}
	return []Remark{
		remark(i, "stage %q: with density = %q the shaped noise follows the programme; density = "+
			"\"triangular\" does not", s.Name, density),
	}
}
