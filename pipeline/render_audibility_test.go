package pipeline

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/ear"
	"ledgerline/stages/stagetest/long"
)

// hearingChain has two stages that cut, one of which holds frames back, and a gain after them.
const hearingChain = `
sources = ["mixes/*.wav"]
[output]
encoding = "float64"
page = false
[[stage]]
kind = "gain"
name = "drive"
gain_db = 6.0
[[stage]]
kind = "oversampled_clip"
name = "clip"
ceiling_dbfs = -2.0
[[stage]]
kind = "ceiling_hold"
name = "hold"
ceiling_dbfs = -2.5
peak = "sample"
method = "plain"
[[stage]]
kind = "gain"
name = "trim"
gain_db = -1.5
[variant.clipped]
skip = ["hold", "trim"]
[variant.held]
skip = ["trim"]
`

// turnedUp is a copy of a block times factors, one after the other.
func turnedUp(b stages.Block, dB ...float64) stages.Block {
	out := stages.NewBlock(len(b), b.Frames())
	for c := range b {
		for i, x := range b[c] {
			for _, by := range dB {
				x *= stages.Linear(by)
			}
			out[c][i] = x
		}
	}
	return out
}

// What the ledger says of the chain and of its stages is what the ear reads when it is given the files at
// once: the mix at the gain that was declared, and what came after each stage. Nothing in it depends on how
// the work is cut up.
func TestAudibilityIsThatOfTheFiles(t *testing.T) {
	d := newDesk(t)
	d.write("release.toml", hearingChain)
	frames := long.Or[int64](20001, 150001)
	info := audiofile.Info{Rate: 44100, Channels: 2, Frames: frames, Encoding: audiofile.Float64}
	d.mix("mixes/a.wav", info, tone(1))
	out := d.render(Options{})
	mix := d.samples("mixes/a.wav")
	full, clipped, held := d.samples("masters/a.wav"), d.samples("masters/clipped/a.wav"),
		d.samples("masters/held/a.wav")

	read := func(comparisons []ear.Comparison, signals ...[][]float64) (all []*ledger.Audibility) {
		r := ear.NewReader(ear.Options{Rate: 44100, Channels: 2, Comparisons: comparisons})
		r.Write(signals...)
		for i := range comparisons {
			reading, ok := r.Reading(i)
			if !ok {
				t.Fatal("no reading")
			}
			all = append(all, ledger.NewAudibility(reading, 44100, ear.LevelDBSPL))
		}
		return all
	}
	stagesRead := read([]ear.Comparison{{Before: 0, After: 1}, {Before: 1, After: 2}, {Before: 0, After: 2}},
		turnedUp(mix, 6), clipped, held)
	whole := read([]ear.Comparison{{Before: 0, After: 1}}, turnedUp(mix, 6, -1.5), full)[0]
	if stagesRead[0].NoiseToMaskDB == nil || len(stagesRead[0].Moments) == 0 {
		t.Fatalf("%+v: nothing to be compared", stagesRead[0])
	}

	for _, tt := range []struct {
		what      string
		got, want *ledger.Audibility
	}{
		{"the chain", out.Ledger.Tracks[0].Whole.Audibility, whole},
		{"its clip", out.Ledger.Tracks[0].Stages[1].Audibility, stagesRead[0]},
		{"its hold", out.Ledger.Tracks[0].Stages[2].Audibility, stagesRead[1]},
		{"its gain", out.Ledger.Tracks[0].Stages[3].Audibility, nil},
		{"the clip alone", out.Ledger.Tracks[1].Whole.Audibility, stagesRead[0]},
		{"clip and hold", out.Ledger.Tracks[2].Whole.Audibility, stagesRead[2]},
		{"the hold of both", out.Ledger.Tracks[2].Stages[2].Audibility, stagesRead[1]},
	} {
		if diff := cmp.Diff(tt.want, tt.got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.what, diff)
		}
	}
	d.block = 613
	again := d.render(Options{Force: true, Jobs: 3})
	if diff := cmp.Diff(out.Ledger, again.Ledger); diff != "" {
		t.Errorf("in batches of %d, and by three workers:\n%s", d.block, diff)
	}
}

// Where there is nothing to be read there is no figure, and no number that could be taken for one.
func TestAudibilityThatDoesNotExist(t *testing.T) {
	for _, tt := range []struct {
		name, more  string
		rate        int
		level, gain float64
		want        string
	}{
		{"something removed", "", 44100, 1, 6, "some"},
		{"nothing removed", "", 44100, 0.3, 0, `{"level_db_spl":92,"noise_to_mask_db":null,"disturbed_percent":0}`},
		{"silence", "", 44100, 0, 6, "null"},
		{"too high a rate", "", 352800, 1, 6, "null"},
		{"turned off", "[audibility]\nmeasure = false\n", 44100, 1, 6, "null"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := newDesk(t)
			d.write("release.toml", fmt.Sprintf("sources = [\"mixes/*.wav\"]\noutput.page = false\n%s[[stage]]\n"+
				"kind = \"gain\"\ngain_db = %v\n[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = -1.0\n",
				tt.more, tt.gain))
			d.mix("mixes/a.wav", audiofile.Info{Rate: tt.rate, Channels: 1, Frames: long.Or[int64](16000, 30000),
				Encoding: audiofile.PCM24}, func(_ int, n int64) float64 {
				return tt.level * 0.8 * math.Sin(2*math.Pi*440/float64(tt.rate)*float64(n))
			})
			track := d.only()
			text, err := json.Marshal(track.Whole.Audibility)
			d.must(err)
			some := len(text) > 200
			if tt.want == "some" && !some || tt.want != "some" && string(text) != tt.want {
				t.Errorf("%s, want %s", text, tt.want)
			}
			if clip := track.Stages[1].Audibility; (clip == nil) != (track.Whole.Audibility == nil) {
				t.Errorf("of the clip %+v, of the chain %+v", clip, track.Whole.Audibility)
			}
		})
	}
}

// A setting of [audibility] that changes a figure makes a render stale, and one that does not, does not.
func TestAudibilityIsPartOfWhatIsStale(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml", drawnChain)
	d.render(Options{})
	edit := func(old, new string, want State, why string) {
		t.Helper()
		d.edit(old, new)
		for _, r := range d.render(Options{}).Results {
			if r.State != want || r.Why != why {
				t.Errorf("%s: %s: %q, want %s: %q", new, r.State, r.Why, want, why)
			}
		}
	}
	edit("[output]", "[audibility]\nlevel_db_spl = 92\n[output]", Kept, "")
	edit("level_db_spl = 92", "level_db_spl = 80", Rendered, "[audibility] level_db_spl 92 -> 80")
	edit("level_db_spl = 80", "aliasing = true", Rendered,
		"[audibility] level_db_spl 80 -> 92, [audibility] aliasing false -> true")
	edit("aliasing = true", "measure = false", Rendered, "[audibility] measure true -> false")
	edit("measure = false", "measure = false\nlevel_db_spl = 100", Kept, "")
	edit("measure = false", "measure = true", Rendered,
		"[audibility] measure false -> true")
}

// A full-scale tone clipped 6 dB deep at the track's rate: what aliases lies between its few harmonics, where
// little masks it. The clip of 16 times the rate is the one that it is compared with.
func TestAliasingIsHeldAgainstTheCleanClip(t *testing.T) {
	d := newDesk(t)
	d.write("release.toml", `sources = ["mixes/*.wav"]
audibility.aliasing = true
output.page = false
[[stage]]
kind = "gain"
gain_db = 6.0
[[stage]]
kind = "hard_clip"
name = "clip"
ceiling_dbfs = -1.0
[variant.clean]
clip = { kind = "oversampled_clip", factor = 16 }
`)
	d.mix("mixes/a.wav", narrow(long.Or[int64](20000, 60000)), func(_ int, n int64) float64 {
		return 0.9 * math.Sin(2*math.Pi*4978/44100*float64(n))
	})
	tracks := d.render(Options{}).Ledger.Tracks
	hard, clean := tracks[0].Stages[1].Audibility, tracks[1].Stages[1].Audibility
	if hard.AliasingToMaskDB == nil || *hard.AliasingToMaskDB < 10 || *hard.AliasingDisturbedPercent != 100 {
		t.Errorf("at the track's rate %v dB, %v %%", levelText(hard.AliasingToMaskDB),
			*hard.AliasingDisturbedPercent)
	}
	if clean.AliasingToMaskDB != nil || clean.AliasingDisturbedPercent == nil ||
		*clean.AliasingDisturbedPercent != 0 {
		t.Errorf("against itself %v dB, %v %%", levelText(clean.AliasingToMaskDB), clean.AliasingDisturbedPercent)
	}
	if tracks[0].Whole.Audibility.AliasingToMaskDB != nil {
		t.Error("the chain has aliasing of its own")
	}
}

// Requirements are of the chain as a whole, wherever their stage is, and on the digits of the ledger.
func TestRequirementsOfTheWholeChain(t *testing.T) {
	long.Only(t, "TestAudibilityIsThatOfTheFiles has the figures, TestEveryRequirement of package "+
		"ledger their requirements")
	d := ferryDesk(t)
	d.write("release.toml", drawnChain)
	o := Options{Tracks: long.Or(ferryTracks[:1], nil)}
	whole := d.render(o).Ledger.Tracks[0].Whole
	for key, found := range map[string]*float64{
		"removed_max_db": whole.RemovedDB, "clipped_max_percent": &whole.ClippedPercent,
		"noise_to_mask_max_db":  whole.Audibility.NoiseToMaskDB,
		"disturbed_max_percent": &whole.Audibility.DisturbedPercent,
	} {
		if found == nil || key == "disturbed_max_percent" && *found == 0 {
			t.Fatalf("%s: nothing found", key)
		}
		for wanted, passed := range map[float64]bool{*found: true, *found - 0.0001: false} {
			d.write("release.toml", drawnChain+fmt.Sprintf("[[stage]]\nkind = \"measure\"\n%s = %.4f\n", key, wanted))
			r := d.render(o).Ledger.Tracks[0].Requirements[1]
			if r.Key != key || r.Passed != passed || *r.Found != *found {
				t.Errorf("%s = %v: %+v", key, wanted, r)
			}
		}
	}
}
