package pipeline

import (
	"math"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// near fails the test where a figure is missing or further from want than within.
func (d *desk) near(what string, got *float64, want, within float64) {
	d.t.Helper()
	if got == nil {
		d.t.Errorf("%s: none, want %.4f", what, want)
	} else if !(math.Abs(*got-want) <= within) {
		d.t.Errorf("%s: %.4f, want %.4f within %g", what, *got, want, within)
	}
}

// only renders the release file and is its one track.
func (d *desk) only() *ledger.Track {
	d.t.Helper()
	out := d.render(Options{Force: true})
	if n := len(out.Ledger.Tracks); n != 1 {
		d.t.Fatalf("%d tracks", n)
	}
	return &out.Ledger.Tracks[0]
}

// clippedBy is how much quieter a sine gets that is clipped at a share of its
// amplitude, in dB: the amplitude of its fundamental, (2/pi) (asin c + c sqrt(1-c^2)).
// The harmonics, 24 dB down and more at the shares used here, are left out.
func clippedBy(c float64) float64 {
	return stages.DB(2 / math.Pi * (math.Asin(c) + c*math.Sqrt(1-c*c)))
}

// 10 s at -14 LUFS and 40 s at -31: what is clipped off the loud part lowers the
// relative gate of BS.1770-5, and the quiet part counts from there on. Nets are
// told of what counted before: at the stage, and of the chain at the source.
func TestNetWhereTheGateMoves(t *testing.T) {
	long.Only(t, "TestLoudnessChangeWhereTheGateMoves of package meter has the figures")
	const rate = 8000
	d := newDesk(t)
	d.mix("mixes/a.wav", audiofile.Info{Rate: rate, Channels: long.Or(1, 2), Frames: 50 * rate,
		Encoding: audiofile.Float32}, func(_ int, n int64) float64 {
		level := -14.0
		if n >= 10*rate {
			level = -31
		}
		return stages.Linear(level) * math.Sin(2*math.Pi*997/rate*float64(n))
	})
	d.write("release.toml", `sources = ["mixes/*.wav"]
[output]
encoding = "float32"
[[stage]]
kind = "hard_clip"
ceiling_dbfs = -15
[[stage]]
kind = "hard_clip"
name = "again"
ceiling_dbfs = -15.5
[[stage]]
kind = "gain"
gain_db = 3
`)
	track := d.only()
	first, again, gain := track.Stages[0], track.Stages[1], track.Stages[2]
	if by := *track.Boundaries[1].LoudnessLUFS - *track.Boundaries[0].LoudnessLUFS; !(by < -6) {
		t.Fatalf("integrated loudness changed by %.2f LU: the gate did not move", by)
	}
	// 0.05 LU: the harmonics, and the last blocks' 300 ms of the quiet part.
	d.near("the clip's loudness change", first.LoudnessChangeLU, clippedBy(stages.Linear(-1)), 0.05)
	d.near("the clip's net", first.NetDB, 1+clippedBy(stages.Linear(-1)), 0.05)
	d.near("the chain's loudness change", track.Whole.LoudnessChangeLU, 3+clippedBy(stages.Linear(-1.5)), 0.05)
	d.near("the chain's net", track.Whole.NetDB, 1.5+clippedBy(stages.Linear(-1.5)), 0.05)
	d.near("the chain's true net", track.Whole.TrueNetDB,
		*track.Whole.LoudnessChangeLU-(*track.Boundaries[3].TruePeakDBTP-*track.Boundaries[0].TruePeakDBTP), 1e-9)
	d.near("a gain's net", gain.NetDB, 0, 0)
	d.near("a gain's true net", gain.TrueNetDB, 0, 0)
	if sum := *first.NetDB + *again.NetDB + *gain.NetDB; math.Abs(sum-*track.Whole.NetDB) < 0.01 {
		t.Errorf("the nets of the stages add up to %.4f, that of the chain: each is over what counted "+
			"at its input", sum)
	}
}

// A tone at a quarter of the rate whose samples lie 45 degrees beside its peaks
// has a true peak sqrt 2 times its samples, 3.01 dB more. Here the sample peak is
// that of another tone, within the ceiling; the hold has only the true peak to hold.
func TestNetOfTruePeaks(t *testing.T) {
	d := newDesk(t)
	d.mix("mixes/a.wav", stereo(2*44100), func(_ int, n int64) float64 {
		// 100 frames a cycle: samples at its peaks
		low := stages.Linear(-1.2) * math.Sin(2*math.Pi*441/44100*float64(n))
		at := float64(n-66150) / 2205 // 50 ms each way from 1.5 s
		if math.Abs(at) >= 1 {
			if n > 60000 {
				return 0
			}
			return low
		}
		return stages.Linear(0.46) * (0.5 + 0.5*math.Cos(math.Pi*at)) * math.Sin(math.Pi/2*float64(n)+math.Pi/4)
	})
	d.write("release.toml", `sources = ["mixes/*.wav"]
ceiling_dbfs = -1.0
[[stage]]
kind = "ceiling_hold"
ceiling_dbfs = -1.0
[[stage]]
kind = "dither"
bits = 24
ceiling_dbfs = -1.0
`)
	track := d.only()
	hold := track.Stages[0]
	d.near("true headroom of the mix", track.Boundaries[0].TrueHeadroomDB, -1.46, 0.01)
	d.near("true headroom after the hold", track.Boundaries[1].TrueHeadroomDB, 0, 0.03)
	d.near("change", hold.ChangeDB, 0, 0.01)
	d.near("true net", hold.TrueNetDB, 1.46+*hold.LoudnessChangeLU, 0.03)
	var text strings.Builder
	if err := (ledger.Printer{Out: &text}).Track(track); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.String(), "gained") || strings.Contains(strings.ToLower(text.String()), "lost") {
		t.Errorf("the table of a mix whose true peak alone was over:\n%s", text.String())
	}
}

// A dither that has to take 5 dB off is told, with a ceiling and without.
func TestDitherThatClips(t *testing.T) {
	d := newDesk(t)
	mix := narrow(44100)
	d.mix("mixes/a.wav", mix, tone(1))
	for _, ceiling := range []string{"ceiling_dbfs = -1\n", ""} {
		d.write("release.toml", "sources = [\"mixes/*.wav\"]\nceiling_dbfs = -1\n[[stage]]\nkind = \"gain\"\n"+
			"gain_db = 6\n[[stage]]\nkind = \"dither\"\nbits = 24\n"+ceiling)
		track := d.only()
		c := track.Stages[1].Ceiling
		if c == nil {
			t.Fatalf("%q: the ledger says nothing of what the dither clipped", ceiling)
		}
		// A tone at 20 log10 0.9 + 6 dB: far more than four codes of 24 bits over.
		at := stages.Linear(-1)
		if ceiling == "" {
			at = 1
		}
		var over int64
		for c := range mix.Channels {
			for n := range mix.Frames {
				if x := stages.Linear(6) * tone(1)(c, n); math.Abs(x) > at+5e-7 {
					over++
				}
			}
		}
		if c.ClampedSamples != over || over == 0 {
			t.Errorf("%q: %d samples clamped, of %d that are over", ceiling, c.ClampedSamples, over)
		}
	}
	d.write("release.toml", "sources = [\"mixes/*.wav\"]\n[[stage]]\nkind = \"dither\"\nbits = 24\n")
	if c := d.only().Stages[0].Ceiling; c != nil {
		t.Errorf("a dither within full scale: %+v", c)
	}
}
