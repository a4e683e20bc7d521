package pipeline

import (
	"context"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/track"
	"ledgerline/stages/stagetest/long"
)

// againDesk is a desk with a mix that takes more than one render.
func againDesk(t testing.TB) *desk {
	d := newDesk(t)
	nasty{"music", 44100, long.Or(1, 2), 4, clipped}.write(d, long.Or[int64](5000, 16000))
	d.write("release.toml", strings.Replace(promiseChain(4, "pcm16", dither16),
		`name         = "hold"`, "name = \"hold\"\nread_by = [\"exact\", \"bs1770\"]", 1))
	return d
}

// wantRepeated fails if no aim was lowered: then nothing of repeats is tested.
func wantRepeated(t *testing.T, out *Outcome) {
	t.Helper()
	if tracks := out.Ledger.Tracks; len(tracks) != 1 || tracks[0].Whole == nil ||
		!(tracks[0].Whole.AimLoweredDB > 0) {
		t.Fatal("the mix was rendered once")
	}
}

// Repeats depend on the mix and the chain alone: blocks and workers change nothing, and what is up to date
// is not rendered.
func TestRepeatsAreTheSameEverywhere(t *testing.T) {
	long.Only(t, "TestRenderIsTheSameForAnyBlockLengthAndJobs cuts work up, too")
	d := againDesk(t)
	wantRepeated(t, d.render(Options{Jobs: 1, Removed: true}))
	want := d.tree("masters")
	for _, block := range long.Or([]int{777}, []int{777, blockFrames}) {
		d.block = block
		d.render(Options{Jobs: 4, Removed: true, Force: true})
		sameTree(t, "with blocks and jobs", d.tree("masters"), want)
	}
	if got := states(d.render(Options{Removed: true})); got != "music kept" {
		t.Errorf("the second time: %s", got)
	}
	d.noLitter()
}

// What is removed is of the render that is kept: the mix, driven, minus the master.
func TestRemovedIsOfTheLastRender(t *testing.T) {
	d := againDesk(t)
	d.edit("bits = 16", "bits = 24")
	d.edit("pcm16", "float64")
	wantRepeated(t, d.render(Options{Removed: true}))
	mix, master, removed := d.samples("mixes/music.wav"), d.samples("masters/music.wav"),
		d.samples("masters/removed/music.wav")
	gain := 1.5848931924611136 // 10^(4/20)
	for c := range mix {
		for n, x := range mix[c] {
			if diff := x*gain - master[c][n] - removed[c][n]; diff > 1e-7 || diff < -1e-7 {
				t.Fatalf("channel %d, frame %d: %v off", c+1, n, diff)
			}
		}
	}
}

// A run that is cancelled while it renders a track again leaves the old master.
func TestCancelledRepeatLeavesNothingHalfDone(t *testing.T) {
	long.Only(t, "TestCancelledRenderLeavesNothingHalfDone cancels a render")
	d := againDesk(t)
	d.render(Options{})
	old := d.tree("masters")
	d.edit("gain_db = 4", "gain_db = 4.5")
	ctx, cancel := context.WithCancel(context.Background())
	out, err := d.try(ctx, Options{Progress: func(e Event) {
		if e.Step == BegunAgain {
			cancel()
		}
	}})
	if err == nil || states(out) != "music interrupted" {
		t.Errorf("%v, %v", states(out), err)
	}
	d.keptOld(old, "music")
}

// abortingSink calls a hook when its file is given up.
type abortingSink struct {
	track.Sink
	hook func()
}

func (s abortingSink) Abort() {
	s.Sink.Abort()
	s.hook()
}

// A mix that is another one when it is read again fails its track.
func TestMixThatChangesBetweenRenders(t *testing.T) {
	long.Only(t, "TestADiskThatFailsAtOneTrack replaces a mix while it is read")
	d := againDesk(t)
	changed := 0
	d.files.create = func(path string, info audiofile.Info, beside audiofile.Beside) (track.Sink, error) {
		s, err := onDisk.create(path, info, beside)
		return abortingSink{s, func() {
			if changed++; changed == 1 {
				nasty{"music", 44100, long.Or(1, 2), 4, clipped}.write(d, 16001)
			}
		}}, err
	}
	out, err := d.try(context.Background(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if e := out.Results[0].Err; e == nil ||
		!strings.Contains(e.Error(), "changed while it was being rendered again") {
		t.Errorf("the error is %v", e)
	}
	if len(out.Ledger.Tracks) > 0 {
		t.Errorf("it is in the ledger")
	}
	d.noLitter()
}
