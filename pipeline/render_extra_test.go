package pipeline

import (
	"math"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// What a chain took away, its output, and its gain give back the mix.
func TestRemovedIsWhatTheChainTookAway(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml",
		strings.Replace(quickChain, `encoding = "pcm24"`, "encoding = \"float64\"\nremoved = true", 1)+
			"\n[variant.plain]\nskip = [\"clip\"]\n")
	out := d.render(Options{})
	gain := stages.Linear(4)
	for _, c := range []struct{ variant, folder string }{{"", "masters/"}, {"plain", "masters/plain/"}} {
		in, out := d.samples("mixes/02 breakwater.wav"), d.samples(c.folder+"02 breakwater.wav")
		removed := d.samples(c.folder + "removed/02 breakwater.wav")
		loudest := 0.0
		for ch := range in {
			for i, x := range in[ch] {
				want := x*gain - out[ch][i]
				if got := removed[ch][i]; got != float64(float32(want)) {
					t.Fatalf("variant %q channel %d frame %d: %v, want %v", c.variant, ch, i, got, want)
				}
				loudest = max(loudest, math.Abs(want))
			}
		}
		if wantSilence := c.variant == "plain"; (loudest == 0) != wantSilence {
			t.Errorf("variant %q: the loudest sample removed is %v", c.variant, loudest)
		}
	}
	x := out.Ledger.Tracks[2].Removed
	if x == nil || x.File != "removed/02 breakwater.wav" || x.GainDB != 4 {
		t.Errorf("the ledger has %+v", x)
	}
	r, err := audiofile.Open(d.path("masters/removed/01 quay.wav"))
	d.must(err)
	defer r.Close()
	if r.Info().Encoding != audiofile.Float32 {
		t.Errorf("encoding %s, want float32", r.Info().Encoding)
	}
}

// matchedDesk is a release of which copies matched in loudness are made.
func matchedDesk(t *testing.T) *desk {
	d := calmDesk(t)
	d.write("release.toml",
		strings.Replace(quickChain, `encoding = "pcm24"`, "encoding = \"pcm24\"\nmatch_loudness = true", 1)+
			matchedChain)
	return d
}

const matchedChain = `
[variant.loud]
drive.gain_db = 10.0

[variant.quiet]
drive.gain_db = -3.0
`

func TestMatchedCopiesAreEquallyLoud(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml",
		strings.Replace(quickChain, `encoding = "pcm24"`, "encoding = \"pcm16\"\nmatch_loudness = true", 1)+
			matchedChain)
	out := d.render(Options{})
	for i := 0; i < len(out.Ledger.Tracks); i += 3 {
		loudness := func(t ledger.Track) float64 { return *t.Boundaries[len(t.Boundaries)-1].LoudnessLUFS }
		least := loudness(out.Ledger.Tracks[i+2])
		for _, track := range out.Ledger.Tracks[i : i+3] {
			m := track.Matched
			if m == nil {
				t.Fatalf("%s (%s) has no copy", track.Name, track.Variant)
			}
			if got := loudness(track) + m.GainDB; math.Abs(got-least) > 1.5e-4 {
				t.Errorf("%s (%s): %v LUFS after %v dB, want %v", track.Name, track.Variant, got, m.GainDB, least)
			}
			d.isCopyAt(track, m.GainDB)
		}
	}
	quiet := d.tree("masters")
	if quiet["masters/quiet/01 quay.wav"] != quiet["masters/quiet/matched/01 quay.wav"] {
		t.Errorf("the copy of the quietest is not bit for bit the master")
	}
}

// isCopyAt fails the test unless a track's matched copy is its master at a
// gain, with triangular dither of 16 bits: never further off than a step and a
// half, and off by an error that is no function of the signal (Lipshitz,
// Wannamaker and Vanderkooy, JAES 40(5), 1992: its power is q^2/4).
func (d *desk) isCopyAt(track ledger.Track, gainDB float64) {
	d.t.Helper()
	master, copied := d.samples("masters/"+track.Output.File), d.samples("masters/"+track.Matched.File)
	gain, step, power, n := stages.Linear(gainDB), 1.0/(1<<15), 0.0, 0
	for c := range master {
		for i, x := range master[c] {
			e := copied[c][i] - x*gain
			if math.Abs(e) > 1.5*step {
				d.t.Fatalf("%s (%s) channel %d frame %d: off by %v steps", track.Name, track.Variant, c, i, e/step)
			}
			power += e * e
			n++
		}
	}
	if q := power / float64(n) / (step * step); gainDB != 0 && math.Abs(q-0.25) > 0.02 {
		d.t.Errorf("%s (%s): error power %v q^2, want 0.25", track.Name, track.Variant, q)
	}
}

func TestMatchedCopiesFollowTheirTrack(t *testing.T) {
	d := matchedDesk(t)
	d.render(Options{})
	gains := func(out *Outcome) (g []float64) {
		for _, track := range out.Ledger.Tracks[:3] {
			g = append(g, track.Matched.GainDB)
		}
		return g
	}
	before := gains(d.render(Options{}))

	// A quieter variant moves the others, rendered or not.
	d.edit("drive.gain_db = -3.0", "drive.gain_db = -6.0")
	out := d.render(Options{Variants: []string{"quiet"}, Tracks: []string{"01 quay"}})
	if got := states(out); got != "01 quay/quiet rendered" {
		t.Errorf("states: %s", got)
	}
	for i, g := range gains(out)[:2] {
		if math.Abs(g-(before[i]-3)) > 2e-4 {
			t.Errorf("copy %d: gain %v, was %v, want 3 dB less", i, g, before[i])
		}
	}
	d.render(Options{})
	d.sameFromScratch(Options{})

	// A copy that was altered or deleted is made again, the master is kept.
	d.flip("masters/loud/matched/02 breakwater.wav")
	d.must(os.Remove(d.path("masters/matched/03 lantern.wav")))
	if got := states(d.render(Options{})); strings.Contains(got, "rendered") {
		t.Errorf("states: %s", got)
	}
	d.sameFromScratch(Options{})

	// A master that is not what the ledger says is not copied.
	d.flip("masters/loud/02 breakwater.wav")
	d.must(os.Remove(d.path("masters/loud/matched/02 breakwater.wav")))
	out, err := d.try(t.Context(), Options{Variants: []string{""}})
	d.must(err)
	if n := out.Failed(); n != 1 {
		t.Errorf("%d failed: %s", n, states(out))
	}
	d.render(Options{})
	d.sameFromScratch(Options{})

	d.edit("match_loudness = true", "match_loudness = false")
	for _, track := range d.render(Options{}).Ledger.Tracks {
		if track.Matched != nil {
			t.Errorf("%s still has a copy in the ledger", track.Name)
		}
	}
}

// A matched copy tells of what it replaces, once, unless that is what the ledger
// records, also where its master is up to date.
func TestMatchedCopiesTellWhatTheyReplace(t *testing.T) {
	long.Only(t, "TestOnlyWhatChangedIsRendered tells what masters replace")
	d := matchedDesk(t)
	for _, c := range []struct {
		do   string
		edit func()
		o    Options
		want string
	}{
		{"a file of someone's", func() { d.write("masters/matched/01 quay.wav", "not ours") },
			Options{Replace: true},
			"01 quay: the matched copy replaces matched/01 quay.wav, which this release did not write"},
		{"again", func() {}, Options{}, ""},
		{"by force", func() {}, Options{Force: true}, ""},
		{"other gains", func() { d.edit("gain_db = -3.0", "gain_db = -4.0") }, Options{}, ""},
		{"altered", func() {
			d.flip("masters/loud/matched/02 breakwater.wav")
			d.flip("masters/matched/03 lantern.wav")
		}, Options{},
			"02 breakwater (loud): the matched copy replaces loud/matched/02 breakwater.wav, which was altered\n" +
				"03 lantern: the matched copy replaces matched/03 lantern.wav, which was altered"},
		{"altered, and its master to be rendered", func() {
			d.flip("masters/loud/matched/02 breakwater.wav")
			d.edit("gain_db = 10.0", "gain_db = 11.0")
		}, Options{},
			"02 breakwater (loud): the matched copy replaces loud/matched/02 breakwater.wav, which was altered"},
		{"deleted", func() { d.must(os.Remove(d.path("masters/matched/01 quay.wav"))) }, Options{}, ""},
	} {
		c.edit()
		if got := strings.Join(d.render(c.o).Notes, "\n"); got != c.want {
			t.Errorf("%s: notes\n%s\nwant\n%s", c.do, got, c.want)
		}
	}
}
