//go:build reference

package bandlimit

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"os/exec"
	"slices"
	"testing"

	"ledgerline/stages/internal/soxr"

	"gonum.org/v1/gonum/dsp/fourier"
)

// python is Debian's, to which python3-scipy belongs; another may come first in
// PATH that lacks it.
const python = "/usr/bin/python3"

// askScipy runs a script, in which q is the question, and sets answer to its a.
func askScipy(t *testing.T, question, answer any, script string) {
	t.Helper()
	in, err := json.Marshal(question)
	if err != nil {
		t.Fatal(err)
	}
	const before, after = "import json, sys, numpy\nfrom scipy import signal\n" +
		"q = json.load(sys.stdin)\n", "\njson.dump(a, sys.stdout)\n"
	cmd := exec.Command(python, "-c", before+script+after)
	var problem bytes.Buffer
	cmd.Stdin, cmd.Stderr = bytes.NewReader(in), &problem
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s with scipy (Debian: python3-scipy): %v\n%s", python, err, &problem)
	}
	if err := json.Unmarshal(out, answer); err != nil {
		t.Fatalf("scipy's answer: %v", err)
	}
}

// A filter is taps at a multiple of the track's rate.
type filter struct {
	name   string
	factor int
	taps   []float64
	middle int                        // the tap at time 0
	gain   func(f float64) complex128 // as the package's other tests have it
	claims []claim
}

// A claim is how far a filter's gain is at most from a level between two frequencies,
// in cycles a frame.
type claim struct {
	from, to, level, off float64
}

const flat5 = 1.2e-6 // 1e-5 dB

// upFilters are each doubling by itself, and all of them up to each factor.
func (c design) upFilters() (all []filter) {
	for l, d := range c.Cascade {
		f := filter{
			name: fmt.Sprint(c.name, " doubling ", l), factor: 2 << l,
			taps: halved(interpolate([]float64{1}, d.halfBand)),
		}
		f.gain = func(at float64) complex128 { return complex(d.gain(at, l), 0) }
		all = append(all, f)
	}
	taps := []float64{1}
	for l, d := range c.Cascade {
		taps = halved(interpolate(taps, d.halfBand))
		f := filter{name: fmt.Sprint(c.name, " interpolation by ", 2<<l), factor: 2 << l, taps: taps}
		f.gain = func(at float64) complex128 { return complex(c.Cascade[:l+1].gain(at), 0) }
		f.claims = append(f.claims, claim{0, c.edge, 1, math.Pow(10, c.flat/20) - 1})
		for k := 1.0; k <= float64(int(1)<<l); k++ {
			f.claims = append(f.claims, claim{k - c.edge, k + c.edge, 0, math.Pow(10, c.images/20)})
		}
		all = append(all, f)
	}
	for i := range all {
		all[i].middle = len(all[i].taps) / 2
	}
	return all
}

// halved gives a doubling a gain of 1: the new samples and the old count half each.
func halved(taps []float64) []float64 {
	for i := range taps {
		taps[i] /= 2
	}
	return taps
}

// downFilters are the ways back to the track's rate.
func downFilters() (all []filter) {
	for _, factor := range factors {
		d := NewDecimator(factor)
		f := filter{name: fmt.Sprint("decimation by ", factor), factor: factor, gain: d.response}
		f.taps = make([]float64, (Before+1+After)*factor)
		f.middle = (Before+1)*factor - 1
		for p := range factor {
			v, y := make([]float64, factor), make([]float64, Before+1+After)
			v[p] = 1
			d.Add(y, v)
			for j, c := range y {
				f.taps[(j-Before)*factor-p+f.middle] = c
			}
		}
		f.claims = []claim{{0, kHz(20), 1, flat5}, {kHz(21.8), float64(factor) / 2, 0, math.Pow(10, -130.0/20)}}
		all = append(all, f)
	}
	return all
}

// pulseFilter is a pulse, as it is left behind in silence.
func pulseFilter() filter {
	f := filter{name: "pulse", factor: pulseRate, middle: pulseSide * pulseRate}
	r := holding(Steep, pulseRate, make([]float64, 2*pulseSide))
	r.ip.Subtract([]Pulse{{(Reach + pulseSide) * pulseRate, -pulseBand / pulseRate}})
	f.taps = r.Values()[Reach*pulseRate:][:pulseValues]
	f.claims = []claim{{0, kHz(17.2), 1, 1.2e-5}, {kHz(21.8), pulseRate / 2, 0, math.Pow(10, -105.0/20)}}
	return f
}

// looks is how many frequencies of a response are looked at to a cycle a frame:
// four and more to a lobe of the longest filter.
const looks = 1024

// TestFiltersAgainstScipy: the responses are those that scipy finds of the taps,
// and scipy's keep what is claimed of pass bands and stop bands.
func TestFiltersAgainstScipy(t *testing.T) {
	all := slices.Concat(steep.upFilters(), clean.upFilters(), downFilters(), []filter{pulseFilter()})
	for i, response := range freqz(t, all) {
		f := all[i]
		t.Run(f.name, func(t *testing.T) {
			off := 0.0
			for k, g := range response {
				if f.gain != nil {
					off = max(off, cmplx.Abs(g-f.gain(float64(k)/looks)))
				}
			}
			if off > 1e-12 {
				t.Errorf("%v from scipy's freqz", off)
			}
			for _, c := range f.claims {
				f.check(t, response, c)
			}
		})
	}
}

// freqz is the response of each filter from 0 to half its rate, time 0 at its middle, by scipy.
func freqz(t *testing.T, all []filter) [][]complex128 {
	t.Helper()
	type question struct {
		Taps []float64
		N    int
	}
	var q []question
	for _, f := range all {
		q = append(q, question{f.taps, f.factor * looks / 2})
	}
	var a [][2][]float64
	askScipy(t, q, &a, `
def response(taps, n):
    h = signal.freqz(taps, worN=numpy.linspace(0, numpy.pi, n + 1))[1]
    return [h.real.tolist(), h.imag.tolist()]
a = [response(f["Taps"], f["N"]) for f in q]`)
	responses := make([][]complex128, len(a))
	for i, v := range a {
		for k, re := range v[0] {
			turn := cmplx.Rect(1, math.Pi*float64(k)/float64(q[i].N)*float64(all[i].middle))
			responses[i] = append(responses[i], complex(re, v[1][k])*turn)
		}
		if len(responses[i]) != q[i].N+1 || len(responses) != len(all) {
			t.Fatalf("scipy gives %d values of filter %d of %d, want %d of %d", len(v[0]), i, len(a),
				q[i].N+1, len(all))
		}
	}
	return responses
}

// check holds scipy's response against a claim.
func (f filter) check(t *testing.T, response []complex128, c claim) {
	t.Helper()
	off, seen := 0.0, 0
	for k, g := range response {
		if at := float64(k) / looks; at >= c.from && at <= c.to {
			off = max(off, cmplx.Abs(g-complex(c.level, 0)))
			seen++
		}
	}
	t.Logf("%.2f to %.2f kHz: within %.1f dB of %v", c.from*44.1, c.to*44.1, dB(off), c.level)
	if off > c.off || seen == 0 {
		t.Errorf("%.2f to %.2f kHz: %v from %v at %d frequencies, want within %v", c.from*44.1, c.to*44.1, off,
			c.level, seen, c.off)
	}
}

// TestKaiserAgainstScipy: windows and shapes.
func TestKaiserAgainstScipy(t *testing.T) {
	levels := []float64{60, 113, 132, 158, 163, 166, 168, 200}
	var a struct {
		Beta   []float64
		Window [][]float64
	}
	const side = 200
	askScipy(t, map[string]any{"levels": levels, "n": 2*side + 1}, &a, `
beta = [signal.kaiser_beta(dB) for dB in q["levels"]]
a = {"beta": beta, "window": [signal.windows.kaiser(q["n"], b).tolist() for b in beta]}`)
	for i, level := range levels {
		beta := kaiserBeta(level)
		if math.Abs(beta-a.Beta[i]) > 1e-12 {
			t.Errorf("%v dB: shape %v, scipy has %v", level, beta, a.Beta[i])
		}
		for k, want := range a.Window[i] {
			got := kaiser(float64(k-side)/side, beta)
			if math.Abs(got/want-1) > 1e-12 {
				t.Errorf("%v dB, %d of %d: %v, scipy has %v", level, k, 2*side+1, got, want)
			}
		}
	}
}

// programme is struck noise of all levels at a multiple of the track's rate, which lies below a
// frequency, in cycles a frame, and is faded in and out.
func programme(seed uint64, n int, rate, top float64) []float64 {
	x := noise(seed, n)
	for i := range x {
		x[i] *= math.Exp(-5 * math.Mod(float64(i)/rate, 7000) / 7000)
	}
	f := fourier.NewFFT(n)
	bins := f.Coefficients(nil, x)
	for k := range bins {
		if float64(k)/float64(n)*rate > top {
			bins[k] = 0
		}
	}
	f.Sequence(x, bins)
	for i := range x {
		// Silent at first, so that no filter reaches past an end.
		e := min(max(float64(min(i, n-1-i))/rate/1000-1, 0), 1)
		x[i] *= (0.5 - 0.5*math.Cos(math.Pi*e)) / float64(n)
	}
	return x
}

// residue is the level of a-b below 20 kHz relative to b there, dB.
func residue(a, b []float64, rate float64) float64 {
	d := make([]float64, len(b))
	for i := range d {
		d[i] = a[i] - b[i]
	}
	return 10 * math.Log10(audible(d, rate)/audible(b, rate))
}

// audible is the power below 20 kHz.
func audible(x []float64, rate float64) (power float64) {
	for k, z := range fourier.NewFFT(len(x)).Coefficients(nil, x) {
		if float64(k)/float64(len(x))*rate <= kHz(20) {
			power += real(z)*real(z) + imag(z)*imag(z)
		}
	}
	return power
}

// TestInterpolatorAgainstLibsoxr: programme between its samples. What is left is what the doublings
// claim of images.
func TestInterpolatorAgainstLibsoxr(t *testing.T) {
	x := programme(21, 1<<15, 1, kHz(20))
	for _, factor := range factors {
		want, err := soxr.Resample(x, factor, 1)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range designs {
			got := stream(c.Cascade, factor, x, func(room int) int { return room })
			level := residue(got, want, float64(factor))
			t.Logf("%s, factor %2d: residue %.1f dB", c.name, factor, level)
			if !(level < c.images) {
				t.Errorf("%s, factor %d: residue %.1f dB, want below %v dB", c.name, factor, level, c.images)
			}
		}
	}
}

// TestDecimatorAgainstLibsoxr: the way back of a signal that fills the high
// rate's band. Less than -120 dB is asked for; the decimator claims 130 dB.
func TestDecimatorAgainstLibsoxr(t *testing.T) {
	const frames = 1 << 15
	for _, factor := range factors {
		x := programme(22, frames*factor, float64(factor), float64(factor)/2)
		want, err := soxr.Resample(x, 1, factor)
		if err != nil {
			t.Fatal(err)
		}
		d, y := NewDecimator(factor), make([]float64, Before+frames+After)
		for m := 0; m < len(x); m += factor {
			d.Add(y[m/factor:m/factor+Before+1+After], x[m:m+factor])
		}
		level := residue(y[Before:Before+frames], want, 1)
		t.Logf("factor %2d: residue %.1f dB", factor, level)
		if !(level < -130) {
			t.Errorf("factor %d: residue %.1f dB, want below -130 dB", factor, level)
		}
	}
}
