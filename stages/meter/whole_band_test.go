package meter

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

// wholeSignals have much near half the rate.
func wholeSignals(frames int) map[string][]float64 {
	signals := map[string][]float64{}
	add := func(name string, at func(i int) float64) {
		x := make([]float64, frames)
		for i := range x {
			x[i] = at(i)
		}
		fade(x, 2000)
		signals[name] = x
	}
	for seed := range uint64(long.Or(1, 3)) {
		r := rand.New(rand.NewPCG(seed, 21))
		add(fmt.Sprint("white noise ", seed), func(int) float64 { return 0.3 * r.NormFloat64() })
		add(fmt.Sprint("random signs ", seed), func(int) float64 { return float64(1 - 2*r.IntN(2)) })
		add(fmt.Sprint("clipped noise ", seed), func(int) float64 { return min(max(r.NormFloat64(), -0.7), 0.7) })
	}
	tones := []float64{4978, 7350.5, 19000, 1000, 11026, 14701}
	for _, hz := range tones[:long.Or(3, 6)] {
		add(fmt.Sprintf("a clipped tone of %g Hz", hz), func(i int) float64 {
			return min(max(math.Sin(2*math.Pi*hz/44100*float64(i)), -0.5), 0.5)
		})
	}
	tones = []float64{21000, 21900, 20000, 21500, 22000}
	for _, hz := range tones[:long.Or(2, 5)] {
		add(fmt.Sprintf("a tone of %g Hz", hz), func(i int) float64 {
			return math.Sin(2 * math.Pi * hz / 44100 * float64(i))
		})
	}
	pink := pinkNoise(frames)
	add("pink noise", func(i int) float64 { return pink[i] })
	add("pink noise, clipped", func(i int) float64 { return min(max(pink[i], -0.4), 0.4) })
	clipped := programme(44100, float64(frames+1)/44100, 7)[0][:frames]
	scale(stages.Block{clipped}, 6)
	add("clipped programme", func(i int) float64 { return min(max(clipped[i], -0.9), 0.9) })
	return signals
}

// pinkNoise falls by about 3 dB an octave: white noise under low-passes, each two octaves below the one
// before.
func pinkNoise(frames int) []float64 {
	x := make([]float64, frames)
	var low [6]float64
	for i, white := range noise(frames, 77) {
		for k := range low {
			share := math.Exp2(-2 * float64(k))
			low[k] += share * (white - low[k])
			x[i] += low[k] / math.Sqrt(share)
		}
	}
	return x
}

var transforms = map[int]*fourier.FFT{}

// transform is Gonum's transform of a length, whose tables are made once.
func transform(n int) *fourier.FFT {
	if transforms[n] == nil {
		transforms[n] = fourier.NewFFT(n)
	}
	return transforms[n]
}

// wholePeak is the largest magnitude of x taken 32 times as finely by Gonum's Fourier transform of the whole.
// Unlike fourierPeak it counts half the rate, which is as much +half as -half.
func wholePeak(x []float64) (top float64) {
	const times = 32
	c := transform(len(x)).Coefficients(nil, x)
	fine := make([]complex128, times*len(x)/2+1)
	copy(fine, c)
	fine[len(c)-1] /= 2
	for _, v := range transform(times*len(x)).Sequence(nil, fine) {
		top = max(top, math.Abs(v))
	}
	return top / float64(len(x))
}

// The true peak is within 0.02 dB of a Fourier interpolation of the whole signal, whatever there is near half
// the rate. What lies within 20 Hz of half the rate, as the third harmonic of 7350.5 Hz, no stretch can tell:
// there it only comes nearer.
func TestWholeBandIsFourier(t *testing.T) {
	missed := 0
	// A quick run has others of their kinds.
	others := []string{"clipped noise 0", "a clipped tone of 19000 Hz", "clipped programme"}
	for name, x := range wholeSignals(long.Or(1<<13, 1<<15)) {
		if slices.Contains(others, name) && !long.Wanted() {
			continue
		}
		want := db(wholePeak(x))
		got := db(read(Options{Rate: 44100, Weights: ones(1), WholeBand: true}, stages.Block{x}).TruePeak)
		short := truePeakDB(44100, x)
		t.Logf("%-32s %+.4f dB, %+.4f, without the whole band %+.4f", name, want, got-want, short-want)
		if name == "a clipped tone of 7350.5 Hz" {
			if !(got > short+0.5) {
				t.Errorf("%s: %g, without the whole band %g", name, got, short)
			}
			continue
		}
		if math.Abs(short-want) > 0.03 {
			missed++
		}
		if off := got - want; math.Abs(off) > 0.02 {
			t.Errorf("%s: %.4f dB off", name, off)
		}
	}
	if missed < long.Or(2, 4) {
		t.Errorf("the search alone reads %d signals more than 0.03 dB low or high: this test tells little", missed)
	}
}

// What begins at once has its highest peak before its first frame. It is read wherever that frame lies.
func TestWholeBandOfAnOnset(t *testing.T) {
	for _, zeros := range long.Or([]int{65}, []int{0, 1, 63, 64, 65, 127, 128, 129, 8192, 16384}) {
		for _, turn := range long.Or([]float64{0.4819}, []float64{0.4819, 0.4876}) {
			x := make([]float64, 1<<15) // silent before and after, as an interpolation of the whole needs it
			for i := range 2000 {
				x[8192+zeros+i] = 0.8 * math.Sin(float64(2*math.Pi*turn)*float64(i)+1.7)
			}
			want := db(wholePeak(x))
			for _, from := range []int{0, 8192} {
				got := db(read(Options{Rate: 44100, Weights: ones(1), WholeBand: true}, stages.Block{x[from:]}).TruePeak)
				if math.Abs(got-want) > 0.02 {
					t.Errorf("%g of the rate, from frame %d on: %.4f dB, want %.4f", turn, 8192+zeros-from, got, want)
				}
			}
		}
	}
}

// The same at other rates, whose meters keep more or less of a signal, and tones that lie as much below half
// of them.
func TestWholeBandAtOtherRates(t *testing.T) {
	frames := long.Or(1<<14, 1<<15)
	signals := map[string][]float64{"white noise": noise(frames, 9), "clipped noise": noise(frames, 10)}
	for i, v := range signals["clipped noise"] {
		signals["clipped noise"][i] = min(max(v, -0.2), 0.2)
	}
	for _, below := range long.Or([]float64{150}, []float64{1050, 150}) {
		x := make([]float64, frames)
		tone(x, 1, 0.5-below/44100, 0.3)
		signals[fmt.Sprintf("a tone %g/44100 below", below)] = x
	}
	for name, x := range signals {
		fade(x, 2000)
		want := db(wholePeak(x))
		for _, rate := range long.Or([]int{96000}, []int{8000, 48000, 96000, 192000}) {
			if got := db(read(Options{Rate: rate, Weights: ones(1), WholeBand: true},
				stages.Block{x}).TruePeak); math.Abs(got-want) > 0.02 {
				t.Errorf("%d Hz, %s: %.4f dB, want %.4f", rate, name, got, want)
			}
		}
	}
}

// The largest true peak of the parts of a signal is that of the signal, to the last bit, wherever it is cut:
// also where its highest peak is, between whose samples it rises.
func TestWholeBandOfParts(t *testing.T) {
	o := Options{Rate: 44100, Weights: ones(1), WholeBand: true}
	r := rand.New(rand.NewPCG(11, 12))
	signals := wholeSignals(30011)
	quick := []string{"a clipped tone of 19000 Hz", "a clipped tone of 4978 Hz", "a clipped tone of 7350.5 Hz",
		"clipped programme", "random signs 0"}
	for _, name := range slices.Sorted(maps.Keys(signals)) {
		signal := signals[name]
		for n := range long.Or(4, 40) {
			x := stages.Block{slices.Clone(signal)}
			loud := r.IntN(29000)
			for i := range x[0] {
				x[0][i] *= 0.8
				if n%2 == 0 && max(i-loud, loud-i) < 300 {
					x[0][i] *= 1.2
				}
			}
			cuts := []int{0, 1 + r.IntN(30000), 1 + r.IntN(30000), loud + r.IntN(500), loud + r.IntN(500), 30011}
			slices.Sort(cuts)
			if !slices.Contains(quick, name) && !long.Wanted() {
				continue
			}
			top := 0.0
			for _, part := range cutMeters(o, x, cuts, 4096) {
				top = max(top, part.TruePeak)
			}
			if whole := read(o, x).TruePeak; top != whole {
				t.Errorf("%s, cut at %d: the parts read %.17g, the whole %.17g", name, cuts, top, whole)
			}
		}
	}
}

// Neither the lengths of blocks, nor a reading on the way, nor to lead or to follow changes what is read, not
// by one bit.
func TestWholeBandIsUndisturbed(t *testing.T) {
	signals := wholeSignals(41011)
	names := []string{"clipped programme", "random signs 0", "white noise 0", "a clipped tone of 4978 Hz"}
	for _, name := range names[:long.Or(1, 4)] {
		b := stages.Block{signals[name], noise(41011, 5)}
		o := Options{Rate: 44100, Weights: ones(2), Ceiling: 0.9, WholeBand: true}
		want := read(o, b)
		m := New(o)
		for from, n := 0, 1; from < b.Frames(); n = n*7%5003 + 1 {
			to := min(b.Frames(), from+n)
			m.Write(b.Slice(from, to))
			m.Reading()
			from = to
		}
		if got := m.Reading(); !reflect.DeepEqual(got, want) {
			t.Errorf("%s, in other blocks: got %+v, want %+v", name, got, want)
		}
		for _, s := range []likened{
			{"gain", stages.Settings{"gain_db": -4.4}}, dithered(16, 0, "triangular"), dithered(24, -1, "triangular"),
		} {
			followed(t, name, o, s, b, 4096, 1000)
		}
	}
}

// What is above by the whole band at the very end, or before the first frame, counts; silence and odd values
// do no harm.
func TestWholeBandAtTheEnds(t *testing.T) {
	o := Options{Rate: 44100, Weights: ones(1), WholeBand: true}
	for _, frames := range []int{0, 1, 2, 1023, 1024, 8191, 12288, 20000} {
		x := make([]float64, frames)
		for i := range x {
			x[i] = float64(1 - 2*(i&1))
		}
		plain := read(Options{Rate: 44100, Weights: ones(1)}, stages.Block{x}).TruePeak
		if got := read(o, stages.Block{x}).TruePeak; got < plain || frames >= 1023 && got <= plain {
			t.Errorf("%d frames: %g, without the whole band %g", frames, got, plain)
		}
	}
	for _, v := range []float64{0, 5e-324, 1e-310, 1e-150, 1e99, 1e200, math.Inf(1), math.NaN()} {
		x := noise(20000, 1)
		for i := range x {
			x[i] *= v
		}
		plain := read(Options{Rate: 44100, Weights: ones(1)}, stages.Block{x}).TruePeak
		if got := read(o, stages.Block{x}).TruePeak; got < plain || math.IsNaN(got) {
			t.Errorf("noise times %g: %g, without the whole band %g", v, got, plain)
		}
	}
}

// Nothing is transformed of programme without much near half the rate.
func TestWholeBandSparesProgramme(t *testing.T) {
	m := New(Options{Rate: 44100, Weights: ones(2), WholeBand: true})
	b := programme(44100, 5, 1)
	for c := range b {
		b[c] = lowPassed(b[c], 19/44.1)
	}
	m.Write(b)
	if m.channels[0].whole.reads+m.channels[1].whole.reads > 0 {
		t.Errorf("%d transforms", m.channels[0].whole.reads+m.channels[1].whole.reads)
	}
}
