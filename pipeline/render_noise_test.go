package pipeline

import (
	"math"
	"strings"
	"testing"

	"ledgerline/stages"
)

const noiseChain = `
sources = ["mixes/*.wav"]
[output]
encoding = "pcm16"
match_loudness = true
[[stage]]
kind = "gain"
name = "drive"
gain_db = -2.0
[[stage]]
kind = "dither"
bits = 16
[variant.quiet]
drive.gain_db = -6.0
`

// likeness is the correlation of two errors: of what two roundings with dither added to a signal.
func likeness(a, b stages.Block) float64 {
	var ab, aa, bb float64
	for c := range a {
		for i, x := range a[c] {
			y := b[c][i]
			ab, aa, bb = ab+x*y, aa+x*x, bb+y*y
		}
	}
	return ab / math.Sqrt(aa*bb)
}

// errorOf is what out has beside in at a gain.
func errorOf(out, in stages.Block, gainDB float64) stages.Block {
	e, gain := stages.NewBlock(len(in), in.Frames()), stages.Linear(gainDB)
	for c := range in {
		for i, x := range in[c] {
			e[c][i] = out[c][i] - x*gain
		}
	}
	return e
}

// The noise of a dither is two thirds of the power of its error (Lipshitz, Wannamaker and
// Vanderkooy, JAES 40(5), 1992: q^2/6 of q^2/4), so that errors are that much alike where they
// share their noise, and not at all where they do not: variants of a track share it, so that they
// differ by their settings only; other tracks and matched copies of a master have their own.
func TestWhoSharesItsNoise(t *testing.T) {
	d := newDesk(t)
	d.write("release.toml", noiseChain)
	for _, name := range []string{"a", "b"} { // the same music
		d.mix("mixes/"+name+".wav", stereo(40000), tone(1))
	}
	out := d.render(Options{})
	mix := d.samples("mixes/a.wav")
	a := errorOf(d.samples("masters/a.wav"), mix, -2)
	quiet := errorOf(d.samples("masters/quiet/a.wav"), mix, -6)
	b := errorOf(d.samples("masters/b.wav"), mix, -2)
	copied := errorOf(d.samples("masters/matched/a.wav"), d.samples("masters/a.wav"),
		out.Ledger.Tracks[0].Matched.GainDB)
	for _, c := range []struct {
		what   string
		a, b   stages.Block
		shared bool
	}{
		{"two variants", a, quiet, true},
		{"two tracks", a, b, false},
		{"a master and its matched copy", a, copied, false},
		{"a variant and the matched copy of another", quiet, copied, false},
	} {
		want := 0.0
		if c.shared {
			want = 2.0 / 3
		}
		// 80,000 samples: five standard deviations of a correlation of 0 are 0.018.
		if got := likeness(c.a, c.b); math.Abs(got-want) > 0.018 {
			t.Errorf("%s: errors alike by %.3f, want %.3f", c.what, got, want)
		}
	}
}

// Variants of the same settings are the same to the bit.
func TestVariantsOfTheSameSettingsAreTheSame(t *testing.T) {
	d := newDesk(t)
	d.write("release.toml", strings.Replace(noiseChain, "= -6.0", "= -2.0", 1))
	d.mix("mixes/a.wav", stereo(20000), tone(1))
	d.render(Options{})
	if d.read("masters/a.wav") != d.read("masters/quiet/a.wav") {
		t.Errorf("the variant has other bytes")
	}
}
