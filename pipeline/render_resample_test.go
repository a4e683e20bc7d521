package pipeline

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// afterClip is the quick chain with stages after its clip.
func afterClip(text string) string {
	return strings.Replace(quickChain, "[[stage]]\nkind                 = \"measure\"",
		text+"[[stage]]\nkind                 = \"measure\"", 1)
}

const to48k = "[[stage]]\nkind = \"resample\"\nrate_hz = 48000\n\n"

// info is what a file's header says.
func (d *desk) info(name string) audiofile.Info {
	d.t.Helper()
	r, err := audiofile.Open(d.path(name))
	d.must(err)
	defer r.Close()
	return r.Info()
}

// A tone at 44.1 kHz becomes, in the file and in every figure, the same tone at 48: each frame is the tone at
// its own moment.
func TestAChainThatChangesTheRate(t *testing.T) {
	const frames, hz = 20001, 441.0
	d := newDesk(t)
	d.write("release.toml", strings.Replace(afterClip(to48k), `"pcm24"`, `"float64"`, 1))
	d.edit("gain_db = 4.0", "gain_db = -6.0")
	mix := stereo(frames)
	mix.Encoding = audiofile.Float64
	at := func(n, rate float64) float64 { return 0.5 * math.Sin(2*math.Pi*hz*n/rate) }
	d.mix("mixes/a.wav", mix, func(_ int, n int64) float64 { return at(float64(n), 44100) })
	track := d.render(Options{Removed: true}).Ledger.Tracks[0]

	const want = 21770 // 20001 * 160/147 = 21769.8
	if info := d.info("masters/a.wav"); info.Rate != 48000 || info.Frames != want {
		t.Fatalf("%d frames at %d Hz, want %d at 48000", info.Frames, info.Rate, want)
	}
	out, gain := d.samples("masters/a.wav"), stages.Linear(-6)
	for n := 200; n < want-200; n++ { // the tone starts and ends at once, which the filter hears
		if w := gain * at(float64(n), 48000); math.Abs(out[0][n]-w) > 1e-7 {
			t.Fatalf("frame %d is %v, want %v", n, out[0][n], w)
		}
	}
	for k, rate := range []int{44100, 44100, 44100, 48000, 48000} {
		if b := track.Boundaries[k]; b.RateHz != rate {
			t.Errorf("boundary %d has %d Hz, want %d", k, b.RateHz, rate)
		}
	}
	if track.Source.RateHz != 44100 || track.Source.Frames != frames {
		t.Errorf("source: %+v", track.Source)
	}
	levelNear(t, "loudness after the change", track.Boundaries[3].LoudnessLUFS,
		*track.Boundaries[2].LoudnessLUFS)
	levelNear(t, "loudness change", track.Stages[2].LoudnessChangeLU, 0)
	if w := track.Whole; w.RemovedDB != nil || w.Audibility != nil || track.Removed != nil {
		t.Errorf("of a chain with a change of rate is told: removed %v, audibility %v, file %v",
			levelText(w.RemovedDB), w.Audibility, track.Removed)
	}
	if _, err := os.Stat(d.path("masters/removed")); err == nil {
		t.Error("what was removed is written")
	}
	if got := states(d.render(Options{Removed: true})); got != "a kept" {
		t.Errorf("the second time: %s", got)
	}
}

// What clips on either side of a change of rate is told on that side, and what is driven beyond the ceiling
// for the whole chain.
func TestStagesAreToldOnEitherSideOfAChangeOfRate(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml",
		afterClip(to48k+"[[stage]]\nkind = \"hard_clip\"\nname = \"again\"\nceiling_dbfs = -3\n\n"))
	d.edit("audibility   = { measure = false }\n", "")
	for _, track := range d.render(Options{}).Ledger.Tracks {
		first, again := track.Stages[1], track.Stages[3]
		if first.Audibility == nil || again.Audibility == nil || first.Ceiling.RemovedDB == nil ||
			again.Ceiling.RemovedDB == nil {
			t.Errorf("%s: %+v, %+v", track.Name, first, again)
		}
		lowest, n := stages.Linear(-3), int64(0)
		for _, x := range d.samples("mixes/" + track.Name + ".wav") {
			for _, v := range x {
				if math.Abs(v*stages.Linear(4)) > lowest {
					n++
				}
			}
		}
		if track.Whole.ClippedSamples != n || n == 0 {
			t.Errorf("%s: %d samples of the mix are over, want %d", track.Name, track.Whole.ClippedSamples, n)
		}
	}
}

// A chain that begins with a change of rate is told as one at the new rate, and so is what it removed.
func TestAChainThatBeginsWithAChangeOfRate(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml", strings.Replace(drawnChain, "[[stage]]", to48k+"[[stage]]", 1))
	d.edit("[output]", "[output]\nremoved = true")
	for _, track := range d.render(Options{}).Ledger.Tracks {
		if track.Whole.Audibility == nil {
			t.Errorf("%s: no audibility", track.Name)
		}
		file := "masters/" + track.Removed.File
		if info := d.info(file); info.Rate != 48000 {
			t.Errorf("%s has %d Hz", file, info.Rate)
		}
		removed, master := d.samples(file), d.samples("masters/"+track.Output.File)
		taken := squares(removed, 1, 0, removed.Frames())
		sum := 0.0 // of what was driven: the master and what was removed
		for c := range master {
			for i, y := range master[c] {
				x := y + removed[c][i]
				sum += x * x
			}
		}
		levelNear(t, track.Name, track.Whole.RemovedDB, 10*math.Log10(taken/sum))
	}
}

// A group's masters are cut at the moments at which its mixes end, whatever the rate, the blocks and the
// jobs.
func TestAGroupAtAnotherRateIsTheJoinedMix(t *testing.T) {
	j := joinedSignal(t)
	chain := strings.Replace(promiseChain(6, "pcm24", dither24), "[[stage]]\nkind         = \"ceiling_hold\"",
		to48k+"[[stage]]\nkind         = \"ceiling_hold\"", 1)
	var first map[string]string
	for _, c := range []struct{ block, jobs int }{{777, 3}, {4096, 1}}[:long.Or(1, 2)] {
		parts, whole := j.desks(t, chain)
		parts.block = c.block
		parts.render(Options{Jobs: c.jobs})
		whole.render(Options{})
		wantJoined(t, parts, whole, "masters")
		for k, name := range joinedTracks {
			from, to := stages.FramesAt(int64(j.cuts[k]), 44100, 48000),
				stages.FramesAt(int64(j.cuts[k+1]), 44100, 48000)
			if info := parts.info("masters/" + name + ".wav"); info.Frames != to-from {
				t.Errorf("%s has %d frames, want %d", name, info.Frames, to-from)
			}
		}
		got := parts.tree("masters")
		if first == nil {
			first = got
		}
		sameTree(t, fmt.Sprintf("blocks of %d, %d jobs", c.block, c.jobs), got, first)
	}
}

// A rate that no simple ratio reaches is told before anything is rendered, and fails one track.
func TestARateThatNoSimpleRatioReaches(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml", afterClip(to48k))
	odd := stereo(2000)
	odd.Rate = 43999
	d.mix("mixes/02 breakwater.wav", odd, tone(2))
	forecast, err := Forecast(t.Context(), d.load(), Options{})
	d.must(err)
	out, err := d.try(t.Context(), Options{})
	d.must(err)
	for _, o := range []*Outcome{forecast, out} {
		for k, r := range o.Results {
			if failed := r.Err != nil; failed != (k == 1) {
				t.Errorf("%s: %v", r.Track, r.Err)
			}
		}
		if err := o.Results[1].Err; err == nil ||
			!strings.Contains(err.Error(), `02 breakwater: stage "resample": 43999 Hz cannot become 48000 Hz`) {
			t.Errorf("the error is %v", err)
		}
	}
}
