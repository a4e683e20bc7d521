//go:build reference

package meter

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/meter/internal/ebur128"
)

var shortRates = []int{8000, 44100, 48000, 88200, 95999, 96000, 176400, 191999, 192000, 384000}

// TestSinc49Response finds the response of libebur128's interpolation frame by frame: it is fed one frame at
// a time, and says how large the values are that this frame brought. A single frame of full scale shows
// each tap's magnitude, as the largest of the phases; pairs of frames, at each distance and with both signs,
// show the taps' signs and every phase. The library works in single precision.
func TestSinc49Response(t *testing.T) {
	const frames = 32
	for _, rate := range shortRates {
		signals := []stages.Block{{noise(400, uint64(rate))}, {make([]float64, frames)}}
		signals[1][0][0] = 1
		for d := 1; d < 24; d++ {
			for _, v := range []float64{1, -1, 0.5, -0.25} {
				x := make([]float64, frames+d)
				x[0], x[d] = 1, v
				signals = append(signals, stages.Block{x})
			}
		}
		f := sinc49(rate)
		for n, b := range signals {
			s, err := ebur128.Open(1, rate)
			if err != nil {
				t.Fatal(err)
			}
			for i, v := range b[0] {
				if err := s.Add([]float64{v}); err != nil {
					t.Fatal(err)
				}
				want, err := s.LatestTruePeak(0)
				if err != nil {
					t.Fatal(err)
				}
				got := math.Abs(v)
				if len(f.phases) > 0 {
					got = max(got, math.Abs(sampleAt(b[0], i-24/(len(f.phases)+1))))
				}
				for _, p := range f.phases {
					got = max(got, math.Abs(oneValue(p.taps, b[0], i)))
				}
				near(t, fmt.Sprintf("%d Hz, signal %d, frame %d", rate, n, i), got, want, 1e-6)
			}
			s.Close()
		}
	}
}

// TestSinc49AgainstLibebur128: whole signals read as the library reads them, within what its single
// precision does. It is fed the silence after the last frame, which this meter always hears.
func TestSinc49AgainstLibebur128(t *testing.T) {
	for _, rate := range shortRates {
		for n, b := range shortSignals(rate) {
			s, err := ebur128.Open(len(b), rate)
			if err != nil {
				t.Fatal(err)
			}
			var frames []float64
			for i := range b.Frames() + 24 {
				for c := range b {
					frames = append(frames, sampleAt(b[c], i))
				}
			}
			if err := s.Add(frames); err != nil {
				t.Fatal(err)
			}
			var want float64
			for c := range b {
				v, err := s.TruePeak(c)
				if err != nil {
					t.Fatal(err)
				}
				want = max(want, v)
			}
			s.Close()
			m := NewSinc49(rate, len(b))
			m.Write(b)
			near(t, fmt.Sprintf("%d Hz, signal %d", rate, n), db(m.Peak()), db(want), 2e-6)
		}
	}
}
