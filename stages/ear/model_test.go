package ear

import (
	"math"
	"testing"
)

// near fails the test unless got is that close to want.
func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, not %v within %v", what, got, want, within)
	}
}

func model48() *Model { return NewModel(48000, 0, LevelDBSPL) }

// TestBands holds the bands against table 6 of the Recommendation.
func TestBands(t *testing.T) {
	m := model48()
	if m.Bands() != 109 {
		t.Fatalf("%d bands, not 109", m.Bands())
	}
	for _, b := range []struct {
		k int
		Band
	}{
		{0, Band{80, 91.708, 103.445}},
		{25, Band{779.647, 797.898, 816.404}},
		{38, Band{1353.592, 1380.623, 1408.094}},
		{66, Band{3853.348, 3923.748, 3995.399}},
		{90, Band{9132.688, 9297.648, 9465.574}},
		{103, Band{14540.103, 14802.338, 15069.295}},
		{108, Band{17385.420, 17690.045, 18000}},
	} {
		got := m.Band(b.k)
		near(t, "lower edge", got.From, b.From, 0.004)
		near(t, "centre", got.Centre, b.Centre, 0.004)
		near(t, "upper edge", got.To, b.To, 0.004)
	}
}

// TestCalibration holds the calibration against Kabal, appendix A; the sine's level is that of the
// Recommendation, 2.1.3.
func TestCalibration(t *testing.T) {
	near(t, "loss of a bin at 1019.5 Hz", loss(48000, 2048), 0.8497, 1e-4)
	// The constant in GstPEAQ's source.
	near(t, "loss of a bin at 1019.5 Hz", loss(48000, 2048), 0.84971762641205, 1e-8)
	near(t, "gain for 16 bits", gain(48000, 2048, 92)/32768, 2.794e-3, 5e-7)
	for _, rate := range []int{44100, 48000, 88200, 96000, 176400, 192000} {
		m := NewModel(rate, 0, LevelDBSPL)
		s := spectrumOf(m, 1019.5, 1)
		top := 0.0
		for _, v := range s.powers {
			top = max(top, math.Sqrt(v))
		}
		near(t, "level of a sine at full scale", 20*math.Log10(top*gain(rate, m.Window(), LevelDBSPL)), 92, 0.001)
	}
}

// spectrumOf is the spectrum of a sine.
func spectrumOf(m *Model, hz, amplitude float64) *Spectrum {
	x := make([]float64, m.Window())
	for n := range x {
		x[n] = amplitude * math.Sin(2*math.Pi*hz*float64(n)/float64(m.Rate()))
	}
	s := NewSpectrum(m)
	NewAnalyser(m).Analyse(s, x)
	return s
}

// TestEarWeight holds the weight of outer and middle ear against Kabal, 2.5.
func TestEarWeight(t *testing.T) {
	near(t, "weight at 1 kHz", 10*math.Log10(weight(1000)), -1.9, 0.05)
	top := 0.0
	for hz := 3000.0; hz < 3600; hz++ {
		top = max(top, weight(hz))
	}
	near(t, "largest weight", 10*math.Log10(top), 5.6, 0.05)
	if weight(0) != 0 {
		t.Errorf("weight at 0 Hz is %v", weight(0))
	}
}

// TestInternalNoise holds the noise inside the ear against Kabal, 2.7: 1.46 dB at 1 kHz, here through the
// nearest centre and the exponent -0.8 of the formula.
func TestInternalNoise(t *testing.T) {
	m := model48()
	for k := range m.Bands() {
		at1kHz := 10 * math.Log10(m.noise[k]) * math.Pow(m.Band(k).Centre/1000, 0.8)
		near(t, "internal noise at 1 kHz", at1kHz, 1.46, 0.005)
	}
}

// TestOffset holds the mask's offset against equation 25 of the Recommendation.
func TestOffset(t *testing.T) {
	m := model48()
	for _, c := range []struct {
		k  int
		db float64
	}{{0, 3}, {48, 3}, {49, 3.0625}, {108, 6.75}} {
		near(t, "offset", -10*math.Log10(m.offset[c.k]), c.db, 1e-4)
	}
	near(t, "lower edge of the last band with 3 dB", m.Band(48).From, 1988.587, 0.004)
}

// TestSmear holds the time constants against values computed apart from this project, in numpy, from
// equations 21 and 24.
func TestSmear(t *testing.T) {
	m := model48()
	for _, c := range []struct {
		k    int
		stay float64
	}{{0, 0.513301}, {31, 0.121436}, {108, 0.072378}} {
		near(t, "what stays", m.stay[c.k], c.stay, 1e-6)
	}
	if got, want := NewModel(48000, 512, LevelDBSPL).stay[0], math.Sqrt(m.stay[0]); math.Abs(got-want) > 1e-12 {
		t.Errorf("at half the hop %v stays, not %v", got, want)
	}
}

// TestSpread holds spreading against values computed apart from this project, in numpy, from equations 19 and
// 20.
func TestSpread(t *testing.T) {
	m := model48()
	for _, c := range []struct {
		k    int
		want float64
	}{{0, 4.874007}, {1, 8.136799}, {31, 14.306370}, {54, 14.392681}, {107, 9.478423}, {108, 5.964338}} {
		near(t, "reference", 1/m.slopes.reference[c.k], c.want, 1e-5)
	}
	const i = 32
	for _, c := range []struct {
		db   float64
		want [8]float64
	}{
		{60, [8]float64{-9.056, 17.932, 38.176, 44.924, 41.869, 32.705, 20.487, -3.945}},
		{80, [8]float64{9.805, 36.794, 57.037, 63.785, 61.730, 55.566, 47.349, 30.916}},
	} {
		p, e := make([]float64, 109), make([]float64, 109)
		for k := range p {
			p[k] = 1e-12
		}
		p[i] = math.Pow(10, c.db/10)
		m.slopes.spread(e, p, newSpreading(109))
		for n, d := range []int{-8, -4, -1, 0, 1, 4, 8, 16} {
			near(t, "spread power in dB", 10*math.Log10(e[i+d]), c.want[n], 0.001)
		}
	}
}

// excitationOf is the excitation of a 1 kHz tone that goes on, and the largest of what is spread.
func excitationOf(m *Model, db float64) (excitation []float64, largest float64) {
	mask := NewMask(m)
	threshold, powers := make([]float64, m.Bands()), make([]float64, m.Bands())
	amplitude := math.Pow(10, (db-LevelDBSPL)/20)
	for window := range 60 {
		x := make([]float64, m.Window())
		for n := range x {
			x[n] = amplitude * math.Sin(2*math.Pi*1000*float64(n+window*m.Hop())/48000)
		}
		s := NewSpectrum(m)
		NewAnalyser(m).Analyse(s, x)
		m.Powers(powers, s)
		mask.Next(threshold, powers)
	}
	for _, e := range mask.spread {
		largest = max(largest, e)
	}
	return mask.excitation(), largest
}

// TestTones holds the excitation of tones through the loudness that the Recommendation's equation 58 makes of
// it, against Kabal, 4.3: 0.584 sone at 40 dB, 0.770 more at 50 dB; and its largest value against numpy.
func TestTones(t *testing.T) {
	m := model48()
	loudness := func(db float64) float64 {
		e, _ := excitationOf(m, db)
		sum := 0.0
		for k := range e {
			f := m.Band(k).Centre / 1000
			threshold := math.Pow(10, 0.364*math.Pow(f, -0.8))
			s := math.Pow(10, (-2-2.05*math.Atan(f/4)-0.75*math.Atan(f/1.6*f/1.6))/10)
			n := 1.07664 * math.Pow(threshold/(s*1e4), 0.23) * (math.Pow(1-s+s*e[k]/threshold, 0.23) - 1)
			sum += max(n, 0)
		}
		return 24 * sum / float64(len(e))
	}
	at40 := loudness(40)
	near(t, "loudness at 40 dB", at40, 0.584, 0.001)
	near(t, "loudness at 50 dB, less that", loudness(50)-at40, 0.770, 0.001)
	for _, c := range []struct{ db, want float64 }{{60, 49.72}, {80, 68.85}, {92, 80.36}} {
		_, largest := excitationOf(m, c.db)
		near(t, "largest spread power in dB", 10*math.Log10(largest), c.want, 0.01)
	}
}
