package pipeline

import (
	"math"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// records are the records along the tracks of an outcome, in its ledger's order.
func (d *desk) records(out *Outcome) []*along.Record {
	d.t.Helper()
	store, err := along.Read(d.path("masters/ledger.along.jsonl"))
	d.must(err)
	var all []*along.Record
	for _, t := range out.Ledger.Tracks {
		r, err := store.Record(t.Along)
		d.must(err)
		if r == nil {
			d.t.Fatalf("%s has no record", t.Name)
		}
		all = append(all, r)
	}
	return all
}

// What is recorded along the track is what the files say, sample by sample.
func TestRecordAlongTheTrack(t *testing.T) {
	d := exampleDesk(t, "01 quay.wav")
	// Without a hold, which hands on thousands of frames at once, many waveforms are of two batches.
	d.write("release.toml", d.read("release.toml")+"\n[variant.blunt]\nclip.kind = \"hard_clip\"\n"+
		"skip = [\"hold\"]\n")
	d.block = 300
	d.edit("[output]", "[output]\npage = false")
	out := d.render(Options{Jobs: 2, Variants: long.Or([]string{"", "blunt"}, nil)})
	mix := d.samples("mixes/01 quay.wav")
	for i, r := range d.records(out) {
		track := &out.Ledger.Tracks[i]
		master, removed := d.samples("masters/"+track.Output.File), d.samples("masters/"+track.Removed.File)
		d.columnsAre(r, mix, master, removed)
		d.figuresAgree(r, track)
		d.wavesAre(r, mix, removed)
		d.countsAre(r, mix, master)
	}
}

func (d *desk) columnsAre(r *along.Record, mix, master, removed stages.Block) {
	d.t.Helper()
	gain, ceiling := stages.Linear(5), stages.Linear(-1)
	n := len(r.PeakIn)
	for i := range n {
		from, to := along.Bounds(r.RateHz, r.Frames, i, n)
		in, out, clipped := 0.0, 0.0, int64(0)
		for c := range mix {
			for f := from; f < to; f++ {
				x := math.Abs(mix[c][f] * gain)
				in, out = max(in, x), max(out, math.Abs(master[c][f]))
				if x > ceiling {
					clipped++
				}
			}
		}
		if clipped != r.Clipped[i] {
			d.t.Fatalf("column %d: %d clipped, want %d", i, r.Clipped[i], clipped)
		}
		level := func(what string, got, want, within float64) {
			if want > -90 && !(math.Abs(got-want) <= within) {
				d.t.Fatalf("column %d: %s %v, want %v", i, what, got, want)
			}
		}
		level("peak in", r.PeakIn[i], stages.DB(in), 0.0051)
		level("peak out", r.PeakOut[i], stages.DB(out), 0.0051)
		taken := squares(removed, 1, int(from), int(to))
		want := stages.DB(math.Sqrt(taken / squares(mix, gain, int(from), int(to))))
		if taken > 1e-8*float64(to-from) { // below, the file has little more than the dither
			level("removed", r.Removed[i], want, 0.05)
		}
	}
}

// figuresAgree compares with the ledger what is the same there.
func (d *desk) figuresAgree(r *along.Record, track *ledger.Track) {
	d.t.Helper()
	last := track.Boundaries[len(track.Boundaries)-1]
	same := func(what string, got, want float64) {
		if !(math.Abs(got-want) < 0.0051) {
			d.t.Errorf("%s: %v, in the ledger %v", what, got, want)
		}
	}
	same("peak", r.PeakOut.Largest(), *last.SamplePeakDBFS)
	if m := r.Momentary.Largest(); m > *last.MomentaryMaxLUFS+0.005 || m < *last.MomentaryMaxLUFS-0.5 {
		d.t.Errorf("momentary %v, in the ledger, every 10 ms, %v", m, *last.MomentaryMaxLUFS)
	}
	clipped := int64(0)
	for _, n := range r.Clipped {
		clipped += n
	}
	if clipped != track.Whole.ClippedSamples {
		d.t.Errorf("%d clipped, in the ledger %d", clipped, track.Whole.ClippedSamples)
	}
	if len(r.Cuts) != len(track.Whole.DeepestCuts) || len(r.Moments) != len(track.Whole.Audibility.Moments) {
		d.t.Fatalf("%d cuts and %d moments, in the ledger %d and %d", len(r.Cuts), len(r.Moments),
			len(track.Whole.DeepestCuts), len(track.Whole.Audibility.Moments))
	}
	for i, c := range track.Whole.DeepestCuts {
		same("time of a cut", float64(r.Cuts[i].Frame)/44100, c.TimeS)
	}
	for i, m := range track.Whole.Audibility.Moments {
		same("time of a moment", float64(r.Moments[i].Frame)/44100, m.TimeS)
	}
	if worst := r.NoiseToMask.Largest(); worst < *track.Whole.Audibility.NoiseToMaskDB {
		d.t.Errorf("noise to mask is at most %v, over all %v", worst, *track.Whole.Audibility.NoiseToMaskDB)
	}
}

func (d *desk) wavesAre(r *along.Record, mix, removed stages.Block) {
	d.t.Helper()
	for _, w := range append(r.Cuts, r.Moments...) {
		if n := len(w.Driven); w.First != w.Frame-74 || n != 149 { // 1.5 ms and 8 frames to each side
			d.t.Fatalf("around frame %d: from %d, %d samples", w.Frame, w.First, n)
		}
		for i := range w.Driven {
			f, taken := w.First+int64(i), int32(0)
			if i < len(w.Removed) {
				taken = w.Removed[i]
			}
			if x := mix[w.Channel-1][f] * stages.Linear(5) * 1e4; math.Abs(float64(w.Driven[i])-x) > 0.51 {
				d.t.Fatalf("frame %d: driven %d, want %v", f, w.Driven[i], x)
			}
			// the file has the dither's error too
			if x := removed[w.Channel-1][f] * 1e4; math.Abs(float64(taken)-x) > 0.6 {
				d.t.Fatalf("frame %d: removed %d, want %v", f, taken, x)
			}
		}
	}
}

func (d *desk) countsAre(r *along.Record, mix, master stages.Block) {
	d.t.Helper()
	count := func(x stages.Block, gain float64) []int64 {
		counts := make([]int64, 160)
		for c := range x {
			for _, v := range x[c] {
				if step := (stages.DB(v*gain) + 1 + 4) / 0.1; step > 0 {
					counts[min(int(step), 159)]++
				}
			}
		}
		return counts
	}
	for what, pair := range map[string][2][]int64{
		"before": {r.Near.Before, count(mix, stages.Linear(5))},
		"after":  {r.Near.After, count(master, 1)},
	} {
		for i, n := range pair[1] {
			if got := append(pair[0], make([]int64, 160)...)[i]; got != n {
				d.t.Errorf("%s: %d samples in step %d, want %d", what, got, i, n)
			}
		}
	}
}

// A record that is missing or altered makes its render stale, and no other; nothing else about the folder
// changes.
func TestARecordThatIsMissingIsMadeAgain(t *testing.T) {
	d := ferryDesk(t)
	d.render(Options{})
	want := d.tree("masters")
	const file = "masters/ledger.along.jsonl"
	lines := strings.SplitAfter(d.read(file), "\n")
	for what, text := range map[string]string{
		"missing": lines[0] + lines[2],
		"altered": lines[0] + strings.Replace(lines[1], `"clipped":[`, `"clipped":[1`, 1) + lines[2],
		"torn":    lines[0] + lines[2] + lines[1][:100],
	} {
		d.must(os.WriteFile(d.path(file), []byte(text), 0o666))
		out := d.render(Options{})
		if got := states(out); got != "01 quay kept, 02 breakwater rendered, 03 lantern kept" {
			t.Errorf("%s: %s", what, stateAndWhy(out))
		}
		if why := out.Results[1].Why; why != "its record along the track is missing or was altered" {
			t.Errorf("%s: %q", what, why)
		}
		sameTree(t, what, d.tree("masters"), want)
	}
	d.must(os.Remove(d.path(file)))
	if got := states(d.render(Options{})); strings.Contains(got, "kept") {
		t.Errorf("without the file: %s", got)
	}
	sameTree(t, "without the file", d.tree("masters"), want)
	if out := d.render(Options{}); strings.Contains(states(out), "rendered") {
		t.Errorf("again: %s", stateAndWhy(out))
	}
}

// A ledger of a version that made no records asks for none.
func TestALedgerWithoutRecords(t *testing.T) {
	d := ferryDesk(t)
	d.render(Options{})
	var lines []string
	for line := range strings.Lines(d.read("masters/ledger.json")) {
		if !strings.Contains(line, `"along_sha256"`) {
			lines = append(lines, line)
		}
	}
	d.must(os.WriteFile(d.path("masters/ledger.json"), []byte(strings.Join(lines, "")), 0o666))
	d.must(os.Remove(d.path("masters/ledger.along.jsonl")))
	if out := d.render(Options{}); strings.Contains(states(out), "rendered") {
		t.Error(stateAndWhy(out))
	}
}

// Where the rate changes on the way, the columns are those of the same times at both rates, and the peaks
// still those of the ledger.
func TestRecordAlongATrackWhoseRateChanges(t *testing.T) {
	long.Only(t, "TestRecordAlongTheTrack has the record, TestAChainThatChangesTheRate the rate")
	for name, chain := range map[string][3]string{
		"before the clip": {"resample", "gain", "hard_clip"}, "after it": {"gain", "hard_clip", "resample"},
		"between": {"gain", "resample", "hard_clip"},
	} {
		d := newDesk(t)
		text := "sources = [\"mixes/*.wav\"]\naudibility.measure = false\noutput.page = false\n"
		for _, kind := range chain {
			text += "[[stage]]\nkind = \"" + kind + "\"\n" + map[string]string{
				"gain": "gain_db = 6.0\n", "hard_clip": "ceiling_dbfs = -3.0\n", "resample": "rate_hz = 48000\n",
			}[kind]
		}
		d.write("release.toml", text)
		d.mix("mixes/a.wav", narrow(44100), tone(1))
		out := d.render(Options{Jobs: 2})
		r, track := d.records(out)[0], &out.Ledger.Tracks[0]
		last := track.Boundaries[len(track.Boundaries)-1]
		if got := r.PeakOut.Largest(); math.Abs(got-*last.SamplePeakDBFS) > 0.0051 {
			t.Errorf("%s: a peak of %v, in the ledger %v", name, got, *last.SamplePeakDBFS)
		}
		if len(r.PeakIn) != 100 || math.IsNaN(r.PeakIn[99]) || math.IsNaN(r.PeakOut[99]) {
			t.Errorf("%s: %d columns for a second, the last %v and %v", name, len(r.PeakIn),
				r.PeakIn[len(r.PeakIn)-1], r.PeakOut[len(r.PeakOut)-1])
		}
		for i := range r.PeakIn { // what is not clipped has the same level before and after
			if in, out := r.PeakIn[i], r.PeakOut[i]; in < -3.5 && math.Abs(in-out) > 0.5 {
				t.Errorf("%s: column %d: %v in, %v out", name, i, in, out)
			}
		}
	}
}
