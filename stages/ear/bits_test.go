package ear

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"testing"
)

// TestBits holds the bits of readings and masks: they are the same on every processor. A change of them
// changes figures.
func TestBits(t *testing.T) {
	h := sha256.New()
	for _, rate := range []int{8000, 44100, 48000, 96000, 192000} {
		x := loudAndQuiet(40000)
		for _, waveform := range []bool{false, true} {
			o := Options{Rate: rate, Comparisons: []Comparison{{Before: 0, After: 1, Waveform: waveform}}}
			o.EachWindow = func(w Window) {
				fmt.Fprintln(h, w.Frame, math.Float64bits(w.Mean), math.Float64bits(w.Most), w.Band)
			}
			r := read(t, o, x, clipped(x, 0.5, 0.02))
			for _, f := range []Figure{r.NoiseToMask, r.Disturbed, r.WorstNoise, r.WorstDisturbed} {
				fmt.Fprintln(h, math.Float64bits(f.Value), f.Channel, f.Frame)
			}
			for _, m := range r.Moments {
				fmt.Fprintln(h, m.Frame, m.Channel, m.Band, math.Float64bits(m.OverMask))
			}
		}
		m := NewModel(rate, 512, 80)
		mask, s, a := NewMask(m), NewSpectrum(m), NewAnalyser(m)
		threshold, powers := make([]float64, m.Bands()), make([]float64, m.Bands())
		for from := 0; from+m.Window() <= 30000; from += m.Hop() {
			a.Analyse(s, x[0][from:])
			m.Powers(powers, s)
			mask.Next(threshold, powers)
			for _, v := range threshold {
				fmt.Fprintln(h, math.Float64bits(v))
			}
		}
	}
	const want = "9e05096277a23906864f819ebfeae55e70b5ccf9d402b300569f34e3d12faf48"
	if got := hex.EncodeToString(h.Sum(nil)); got != want {
		t.Errorf("the bits have the hash %s, not %s", got, want)
	}
}
