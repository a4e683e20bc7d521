package pipeline

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// nasty is a mix that a hold finds hard.
type nasty struct {
	name     string
	rate     int
	channels int
	driveDB  float64
	tune     func(r *rand.Rand) func(c int, n int64) float64
}

func perSample(f func(r *rand.Rand) float64) func(*rand.Rand) func(int, int64) float64 {
	return func(r *rand.Rand) func(int, int64) float64 {
		return func(int, int64) float64 { return f(r) }
	}
}

func nearHalf(share float64) func(*rand.Rand) func(int, int64) float64 {
	return func(*rand.Rand) func(int, int64) float64 {
		return func(c int, n int64) float64 {
			return 0.9 * math.Sin(math.Pi*share*float64(n)+float64(c)) * (0.6 + 0.4*math.Sin(float64(n)/3000))
		}
	}
}

// clipped is a dense sum of tones and noise, clipped at its own rate, so that it has energy up to half the
// rate.
func clipped(r *rand.Rand) func(int, int64) float64 {
	return func(c int, n int64) float64 {
		t := float64(n) / 44100
		x := 0.0
		for k, f := range []float64{55, 110.3, 220.7, 331, 663.1, 1490, 3217, 7100, 11900} {
			x += math.Sin(2*math.Pi*f*t+float64(c*k)) / math.Sqrt(float64(k+1))
		}
		x = 1.3*x*(0.6+0.4*math.Sin(3*t*math.Pi)) + 0.3*r.NormFloat64()
		return min(max(x, -0.98), 0.98)
	}
}

var nastyMixes = []nasty{
	{"white noise", 44100, 2, 0, perSample(func(r *rand.Rand) float64 { return 2*r.Float64() - 1 })},
	{"random signs", 48000, 2, 0, perSample(func(r *rand.Rand) float64 { return 0.9 * float64(2*r.IntN(2)-1) })},
	{"clipped music", 44100, 2, 4, clipped},
	{"clipped music, not driven", 44100, 2, 0, clipped},
	{"0.94 of half the rate", 44100, 2, 6, nearHalf(0.94)},
	{"8 channels", 48000, 8, 5, clipped},
	{"192 kHz", 192000, 2, 5, clipped},
}

func (m nasty) write(d *desk, frames int64) {
	r := rand.New(rand.NewPCG(1, 2))
	d.mix("mixes/"+m.name+".wav", audiofile.Info{Rate: m.rate, Channels: m.channels, Frames: frames,
		Encoding: audiofile.PCM24}, m.tune(r))
}

// promiseChain is a release that drives, holds and rounds.
func promiseChain(gainDB float64, encoding, dither string) string {
	return fmt.Sprintf(`
title        = "Hard Water"
sources      = ["mixes/*.wav"]
ceiling_dbfs = -1.0
audibility   = { measure = false }

[output]
folder   = "masters"
encoding = %q
page     = false

[[stage]]
kind    = "gain"
name    = "drive"
gain_db = %v

[[stage]]
kind         = "ceiling_hold"
name         = "hold"
ceiling_dbfs = -1.0
%s
[[stage]]
kind                 = "measure"
name                 = "delivery"
sample_peak_max_dbfs = -1.0
true_peak_max_dbtp   = -1.0
overs_max            = 0
`, encoding, gainDB, dither)
}

const (
	dither24 = "\n[[stage]]\nkind = \"dither\"\nbits = 24\n"
	dither16 = "\n[[stage]]\nkind = \"dither\"\nbits = 16\n"
	dither8  = "\n[[stage]]\nkind = \"dither\"\nbits = 8\n"
)

// again is how often each track of a release was rendered once more.
func (p *told) again(track string) int {
	n := 0
	for _, e := range p.tracks[track] {
		if strings.HasPrefix(e, "again") {
			n++
		}
	}
	return n
}

// tell renders a desk's release and tells how it went.
func (d *desk) tell(o Options) (*Outcome, *told) {
	d.t.Helper()
	p := &told{tracks: map[string][]string{}, frames: map[string]int64{}}
	o.Progress = p.hear
	return d.render(o), p
}

// wantPromise looks at what the ledger holds of a promise, and at every sample of the file.
func (d *desk) wantPromise(name string, track ledger.Track, ceilingDB float64) {
	d.t.Helper()
	hold := slices.IndexFunc(track.Boundaries, func(b ledger.Boundary) bool { return b.Stage == "hold" })
	for _, b := range track.Boundaries[hold:] {
		if *b.TruePeakDBTP > ceilingDB || *b.SamplePeakDBFS > ceilingDB {
			d.t.Errorf("%s: after %s: sample peak %v dBFS, true peak %v dBTP", name, b.Stage, *b.SamplePeakDBFS,
				*b.TruePeakDBTP)
		}
	}
	for _, r := range track.Requirements {
		if !r.Passed {
			d.t.Errorf("%s: %s", name, r)
		}
	}
	for c, x := range d.samples("masters/" + track.Output.File) {
		for n, v := range x {
			if math.Abs(v) > stages.Linear(ceilingDB) {
				d.t.Fatalf("%s: channel %d, frame %d: %v dBFS in the file", name, c+1, n, stages.DB(v))
			}
		}
	}
}

// Whatever the word length, what is read after the dither keeps the hold's ceiling, although a
// dither without a ceiling lifts samples, and although there is energy that the hold does not see.
func TestPromiseIsKept(t *testing.T) {
	for i, m := range nastyMixes {
		for _, end := range [][2]string{
			{"pcm24", dither24}, {"pcm16", dither16}, {"pcm16", dither8}, {"pcm16", ""},
		} {
			if !long.Wanted() && (end[1] != dither16 || i%2 == 0 || m.channels > 2) {
				continue
			}
			d := newDesk(t)
			m.write(d, long.Or[int64](5000, 16000))
			d.write("release.toml", promiseChain(m.driveDB, end[0], end[1]))
			out, p := d.tell(Options{})
			entry, name := out.Ledger.Tracks[0], fmt.Sprintf("%s to %s%q", m.name, end[0], end[1])
			lowered := 0.0
			if entry.Whole != nil {
				lowered = entry.Whole.AimLoweredDB
			}
			again := p.again(m.name)
			last := entry.Boundaries[len(entry.Boundaries)-1]
			t.Logf("%s: %d repeats, aim lowered by %.4f dB, true peak %.4f dBTP", name, again, lowered,
				*last.TruePeakDBTP)
			if again > track.MaxRenders-1 {
				t.Errorf("%s: %d repeats", name, again)
			}
			if (again == 0) != (lowered == 0) {
				t.Errorf("%s: %d repeats, but the aim was lowered by %v dB", name, again, lowered)
			}
			d.wantPromise(name, entry, -1)
		}
	}
}

// With peak = "sample" the samples' promise is kept, one render does it, and the codes reach up to within the
// noise of the ceiling.
func TestPromiseOfSamplesIsKept(t *testing.T) {
	d := newDesk(t)
	nasty{"music", 44100, 2, 5, clipped}.write(d, long.Or[int64](6000, 30000))
	text := promiseChain(5, "pcm16", dither16)
	text = strings.Replace(text, "ceiling_dbfs = -1.0\n\n[[stage]]",
		"ceiling_dbfs = -1.0\npeak = \"sample\"\n\n[[stage]]", 1)
	d.write("release.toml", strings.Replace(text, "true_peak_max_dbtp   = -1.0\n", "", 1))
	out, p := d.tell(Options{})
	track := out.Ledger.Tracks[0]
	if n := p.again("music"); n > 0 {
		t.Errorf("rendered again %d times", n)
	}
	for _, r := range track.Requirements {
		if !r.Passed {
			t.Errorf("%s", r)
		}
	}
	// A cut takes a peak down by a quarter of a hundredth more than it is over, at most; the room is 1.5 codes.
	least := stages.DB(stages.Linear(-1)*(1-0.0025) - 1.5/32768)
	if peak := *track.Boundaries[3].SamplePeakDBFS; peak > -1 || peak < least {
		t.Errorf("sample peak %v dBFS, want %v to -1", peak, least)
	}
}

// Programme that a hold sees all of is rendered once: the example, read exactly, also down to 16 bits.
func TestCleanProgrammeIsRenderedOnce(t *testing.T) {
	long.Only(t, "it renders the example twice")
	for _, bits := range long.Or([]string{"16"}, []string{"24", "16"}) {
		d := newDesk(t)
		d.must(foldertest.CopyExample(d.path("."), "../examples/night-ferry"))
		d.write("release.toml", "audibility = { measure = false }\n"+example(t))
		d.edit("[output]", "[output]\npage = false")
		d.edit(`["exact", "bs1770"]`, `["exact"]`)
		d.edit("bits         = 24", "bits         = "+bits)
		out, p := d.tell(Options{Tracks: long.Or([]string{"02 breakwater"}, nil)})
		for _, track := range out.Ledger.Tracks {
			if n := p.again(track.Name); n > 0 {
				t.Errorf("%s to %s bits: rendered again %d times", track.Name, bits, n)
			}
			if track.Whole != nil && track.Whole.AimLoweredDB != 0 {
				t.Errorf("%s to %s bits: the aim was lowered by %v dB", track.Name, bits, track.Whole.AimLoweredDB)
			}
			d.wantPromise(track.Name, track, -1)
		}
	}
}

// Where no aim keeps the promise, the render ends, at the aim that came nearest, and says what it reads. Two
// bits have no code but full scale beyond a half, and their dither reaches that.
func TestPromiseThatCannotBeKept(t *testing.T) {
	d := newDesk(t)
	nasty{"whistle", 44100, long.Or(1, 2), 6, nearHalf(0.97)}.write(d, long.Or[int64](4000, 12000))
	d.write("release.toml", promiseChain(6, "pcm24", strings.Replace(dither24, "24", "2", 1)))
	out, p := d.tell(Options{})
	entry := out.Ledger.Tracks[0]
	if n := p.again("whistle"); n == 0 || n > track.MaxRenders {
		t.Errorf("rendered again %d times, want 1 to %d", n, track.MaxRenders)
	}
	if by := entry.Whole.AimLoweredDB; by > track.MaxRepeatedDB {
		t.Errorf("the aim was lowered by %v dB", by)
	}
	failed := entry.Requirements[1]
	if read := *entry.Boundaries[4].TruePeakDBTP; failed.Passed || *failed.Found != read || read <= -1 {
		t.Errorf("true peak %v dBTP, and the requirement: %v, %s", read, failed.Passed, failed)
	}
}
