package pipeline

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// exampleDesk is a desk with one mix of the example and its release file, which also
// writes what was removed and has a variant more: clip and hold share the cutting
// in another way. In a quick run the mix is its first four seconds.
func exampleDesk(t *testing.T, mix string) *desk {
	d := newDesk(t)
	text := foldertest.OfOneTrack(example(t), strings.TrimSuffix(mix, ".wav"))
	d.write("release.toml", strings.Replace(text, "[output]\n", "[output]\nremoved = true\n", 1)+
		"\n[variant.above]\nclip.ceiling_dbfs = 0.0\n")
	d.must(os.MkdirAll(d.path("mixes"), 0o777))
	d.write("mixes/"+mix, foldertest.Text(t, "../examples/night-ferry/mixes/"+mix))
	if !long.Wanted() {
		x := d.samples("mixes/" + mix)
		d.mix("mixes/"+mix, stereo(4*44100), func(c int, n int64) float64 { return x[c][n] })
	}
	return d
}

// The level of what was removed is that of the file of it, relative to the mix at the
// chain's gain. The dither in the file is far below.
func TestRemovedLevelIsThatOfTheFile(t *testing.T) {
	d := exampleDesk(t, "01 quay.wav")
	d.edit("[output]", "[output]\npage = false") // nor does what is heard change what is removed
	d.write("release.toml", "audibility = { measure = false }\n"+d.read("release.toml"))
	out := d.render(Options{})
	mix := d.samples("mixes/01 quay.wav")
	if len(out.Ledger.Tracks) != 2 {
		t.Fatalf("%d renders, want 2", len(out.Ledger.Tracks))
	}
	for i, file := range []string{"masters/removed/01 quay.wav", "masters/above/removed/01 quay.wav"} {
		track := out.Ledger.Tracks[i]
		gain := stages.Linear(track.Removed.GainDB)
		removed := d.samples(file)
		want := stages.DB(math.Sqrt(squares(removed, 1, 0, removed.Frames()) / squares(mix, gain, 0, mix.Frames())))
		whole := track.Whole
		levelNear(t, file, whole.RemovedDB, want)
		for seconds, w := range map[float64]*ledger.Window{0.4: whole.RemovedWorst400ms, 3: whole.RemovedWorst3s} {
			from := int(math.Round(w.TimeS * 44100))
			to := from + int(seconds*44100)
			levelNear(t, fmt.Sprintf("%s, the worst %v s", file, seconds), w.DB,
				stages.DB(math.Sqrt(squares(removed, 1, from, to)/squares(mix, gain, from, to))))
			if *w.DB < want {
				t.Errorf("%s: %v dB in the worst %v s, and %v in all", file, *w.DB, seconds, want)
			}
		}
		n, deepest := int64(0), 0.0
		ceiling, master := stages.Linear(-1), d.samples("masters/"+track.Output.File)
		for c := range mix {
			for i, x := range mix[c] {
				if x = math.Abs(x * gain); x > ceiling {
					n++
					deepest = max(deepest, x/math.Abs(master[c][i]))
				}
			}
		}
		if whole.ClippedSamples != n ||
			math.Abs(whole.ClippedPercent-100*float64(n)/float64(2*mix.Frames())) > 1e-4 {
			t.Errorf("%s: %d samples clipped, %v %%; want %d", file, whole.ClippedSamples, whole.ClippedPercent, n)
		}
		levelNear(t, file+", the deepest cut", whole.DeepestCuts[0].CutDB, stages.DB(deepest))
	}
}

// squares is the sum of squares of frames at a gain.
func squares(x stages.Block, gain float64, from, to int) (sum float64) {
	for c := range x {
		for _, v := range x[c][from:to] {
			sum += v * gain * v * gain
		}
	}
	return sum
}

func levelNear(t *testing.T, what string, got *float64, want float64) {
	t.Helper()
	if got == nil || math.Abs(*got-want) > 0.01 {
		t.Errorf("%s: %v, want %.4f", what, levelText(got), want)
	}
}

func levelText(x *float64) string {
	if x == nil {
		return "none"
	}
	return fmt.Sprintf("%.4f dB", *x)
}

// Each stage that cuts tells what it took by itself, the others nothing; and how the
// work is cut up does not show, though the stages hold frames back.
func TestCuttingOfEachStage(t *testing.T) {
	const text = `
title = "cuts"
sources = ["mixes/*.wav"]
[output]
removed = true
[[stage]]
kind = "gain"
gain_db = 6.0
[[stage]]
kind = "hard_clip"
ceiling_dbfs = -0.5
[[stage]]
kind = "gain"
name = "lift"
gain_db = 0.5
[[stage]]
kind = "oversampled_clip"
ceiling_dbfs = -1.0
factor = 4
[[stage]]
kind = "ceiling_hold"
ceiling_dbfs = -1.0
[[stage]]
kind = "dither"
bits = 16
ceiling_dbfs = -1.0
[[stage]]
kind = "measure"
overs_max = 0
`
	var want map[string]string
	for _, block := range []int{4096, 100, 1 << 16}[:long.Or(2, 3)] {
		d := newDesk(t)
		d.write("release.toml", text)
		d.mix("mixes/a.wav", stereo(long.Or[int64](12000, 30000)), tone(1))
		d.block = block
		out := d.render(Options{Jobs: 2})
		got := d.tree("masters")
		if want == nil {
			want = got
			eachStageTells(t, &out.Ledger.Tracks[0])
		}
		sameTree(t, fmt.Sprintf("blocks of %d", block), got, want)
	}
}

func eachStageTells(t *testing.T, track *ledger.Track) {
	t.Helper()
	for _, s := range track.Stages {
		switch c := s.Ceiling; s.Kind {
		case "gain":
			if c != nil {
				t.Errorf("%s has a ceiling", s.Stage)
			}
		case "measure":
			if c.Cutting != nil {
				t.Errorf("%s cuts: %+v", s.Stage, *c.Cutting)
			}
		case "dither":
			if c.Cutting == nil || c.RemovedWorst400ms != nil || c.ClippedSamples != c.TouchedSamples {
				t.Errorf("%s: %+v", s.Stage, c)
			}
		default:
			if c.ClippedSamples == 0 || len(c.DeepestCuts) == 0 || c.RemovedWorst3s == nil ||
				*c.DeepestCuts[0].CutDB != *c.DeepestCutDB {
				t.Errorf("%s: %+v %+v", s.Stage, c, c.Cutting)
			}
			if s.Kind == "hard_clip" && c.ClippedSamples != c.TouchedSamples {
				t.Errorf("%s: %d clipped, %d touched", s.Stage, c.ClippedSamples, c.TouchedSamples)
			}
		}
	}
	if w := track.Whole; *w.RemovedDB <= *track.Stages[1].Ceiling.RemovedDB {
		t.Errorf("the chain removed %v dB, its first clip alone %v", *w.RemovedDB,
			*track.Stages[1].Ceiling.RemovedDB)
	}
}

// Where nothing cuts, nothing was removed, whatever the gains.
func TestChainThatCutsNothing(t *testing.T) {
	d := newDesk(t)
	d.write("release.toml", `
sources = ["mixes/*.wav"]
[[stage]]
kind = "gain"
gain_db = -3.0
[[stage]]
kind = "hard_clip"
ceiling_dbfs = 0.0
[[stage]]
kind = "gain"
name = "down"
gain_db = -2.0
[[stage]]
kind = "dither"
bits = 16
[variant.plain]
skip = ["hard_clip"]
[variant.none]
skip = ["gain", "hard_clip", "down", "dither"]
`)
	d.mix("mixes/a.wav", stereo(long.Or[int64](12000, 30000)), tone(1))
	d.mix("mixes/empty.wav", stereo(0), tone(1))
	for _, track := range d.render(Options{}).Ledger.Tracks {
		c := track.Whole.Cutting
		if c.RemovedDB != nil || c.RemovedWorst400ms != nil || c.RemovedWorst3s != nil || c.ClippedSamples != 0 ||
			c.ClippedPercent != 0 || len(c.DeepestCuts) > 0 {
			t.Errorf("%s %s: %+v", track.Name, track.Variant, c)
		}
	}
}

// A dither's ceiling is one of the chain's.
func TestClippedSamplesOfAChainWithADitherAlone(t *testing.T) {
	d := newDesk(t)
	d.write("release.toml", `
sources = ["mixes/*.wav"]
[[stage]]
kind = "gain"
gain_db = 3.0
[[stage]]
kind = "dither"
bits = 16
ceiling_dbfs = -2.0
`)
	d.mix("mixes/a.wav", stereo(long.Or[int64](12000, 30000)), tone(1))
	n := int64(0)
	for _, x := range d.samples("mixes/a.wav") {
		for _, v := range x {
			if math.Abs(v*stages.Linear(3)) > stages.Linear(-2) {
				n++
			}
		}
	}
	track := d.render(Options{}).Ledger.Tracks[0]
	if c := track.Whole.Cutting; c.ClippedSamples != n || n == 0 || c.RemovedDB == nil {
		t.Errorf("%+v, want %d clipped", c, n)
	}
	if c := track.Stages[1].Ceiling; c.RemovedDB == nil || c.ClippedSamples != c.TouchedSamples {
		t.Errorf("of the dither %+v", c.Cutting)
	}
}

// What a dither or the encoding clips is in the file of what was removed, and so in its level: after nothing
// else that cuts, and after a clip that peaks pass on the way back. A track that neither had to clip lost
// nothing, though its file has the rounding.
func TestRemovedLevelWhereTheEndClips(t *testing.T) {
	long.Only(t, "TestRemovedLevelIsThatOfTheFile and TestLimitedSamplesAreReadAsWritten have the rest")
	d := newDesk(t)
	d.write("release.toml", `
sources = ["mixes/*.wav"]
[output]
removed = true
[[stage]]
kind = "gain"
gain_db = 3.0
[[stage]]
kind = "oversampled_clip"
ceiling_dbfs = -2.0
[[stage]]
kind = "dither"
bits = 24
ceiling_dbfs = -2.0
[[stage]]
kind = "measure"
[variant.dither]
skip = ["oversampled_clip"]
[variant.encoding]
skip = ["oversampled_clip", "dither"]
`)
	d.mix("mixes/a.wav", stereo(long.Or[int64](12000, 30000)), tone(1))
	d.mix("mixes/quiet.wav", stereo(6000), func(c int, n int64) float64 { return tone(1)(c, n) / 8 })
	tracks := d.render(Options{Jobs: 2}).Ledger.Tracks
	if len(tracks) != 6 {
		t.Fatalf("%d renders, want 6", len(tracks))
	}
	for _, track := range tracks {
		w := track.Whole
		if track.Name == "quiet" {
			if w.RemovedDB != nil || w.RemovedWorst400ms != nil || len(w.DeepestCuts) > 0 {
				t.Errorf("quiet %s: %+v", track.Variant, w.Cutting)
			}
			continue
		}
		mix, removed := d.samples("mixes/a.wav"), d.samples("masters/"+track.Removed.File)
		want := stages.DB(math.Sqrt(squares(removed, 1, 0, removed.Frames()) /
			squares(mix, stages.Linear(3), 0, mix.Frames())))
		levelNear(t, track.Variant, w.RemovedDB, want)
		if want < -60 || (len(w.DeepestCuts) == 0) != (track.Variant == "encoding") {
			t.Errorf("%s: nothing was clipped: %.2f dB, %+v", track.Variant, want, w.Cutting)
		}
	}
}
