package pipeline

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/meter"
	"ledgerline/stages/stagetest/long"
)

// discText is a release with a hold, and of it a disc and the same in files as long as the mixes.
const discText = `
[[delivery]]
name = "disc"
encoding = "pcm16"
disc_frames = true
cue = true
sheet = true

[[delivery.stage]]
kind = "dither"
name = "coarse"
bits = 16

[[delivery]]
name = "long"
encoding = "pcm16"

[[delivery.stage]]
kind = "dither"
name = "coarse"
bits = 16
`

// onDisc is how many samples a frame of an audio disc has: 44100 Hz over its 75 frames a second.
const onDisc = 44100 / 75

// entryOf is the ledger's entry of a delivery of a track.
func entryOf(t *testing.T, l *ledger.Ledger, track, delivery string) *ledger.Track {
	t.Helper()
	for i := range l.Tracks {
		if x := &l.Tracks[i]; x.Name == track && x.Delivery == delivery {
			return x
		}
	}
	t.Fatalf("%s (%s) is not in the ledger", track, delivery)
	return nil
}

// reads compares the figures of a file in the ledger with a reading of its samples. What is around them in a
// stream is read with them for a true peak alone.
func (d *desk) reads(t *testing.T, entry *ledger.Track, alone bool) {
	t.Helper()
	x := d.samples("masters/" + entry.Output.File)
	m := meter.New(meter.Options{Rate: 44100, Weights: meter.Weights(2, 0), WholeBand: true})
	m.Write(x)
	is := *entry.Written()
	want := ledger.NewBoundary(is.Boundary, is.Stage, m.Reading(), is.RateHz, -1)
	if !alone {
		want.TruePeakDBTP, want.TrueHeadroomDB = is.TruePeakDBTP, is.TrueHeadroomDB
		want.PeakToLoudnessLU = is.PeakToLoudnessLU
	}
	if diff := cmp.Diff(want, is); diff != "" {
		t.Errorf("%s (-what the file reads +the ledger):\n%s", entry.Output.File, diff)
	}
}

// A file of whole frames is the file as it is without them, and zeros up to a multiple of 588 samples.
func TestADiscFillsUpTheLastFrame(t *testing.T) {
	for _, block := range long.Or([]int{100}, []int{4096, 7, 1, 588, 1 << 16}) {
		d := ferryDesk44(t)
		d.mix("mixes/04 whole.wav", stereo(35*onDisc), tone(4))
		d.write("release.toml", quickChain+discText)
		d.block = block
		out := d.render(Options{Jobs: 2})
		for _, track := range append(ferryTracks, "04 whole") {
			got, want := d.samples("masters/disc/"+track+".wav"), d.samples("masters/long/"+track+".wav")
			if n := got.Frames(); n%onDisc != 0 || n < want.Frames() || n >= want.Frames()+onDisc {
				t.Fatalf("%s: %d samples of %d", track, n, want.Frames())
			}
			for c := range got {
				for i, v := range got[c] {
					if i < want.Frames() && v != want[c][i] || i >= want.Frames() && v != 0 {
						t.Fatalf("%s, channel %d, frame %d of %d: %v", track, c+1, i, want.Frames(), v)
					}
				}
			}
			entry := entryOf(t, out.Ledger, track, "disc")
			o := entry.Output
			if o.Frames != int64(got.Frames()) || o.PaddedFrames != int64(got.Frames()-want.Frames()) ||
				o.LeadFrames != 0 || !o.DiscFrames || (entry.AsWritten != nil) != (track != "04 whole") {
				t.Errorf("%s: the ledger has %+v", track, o)
			}
			d.reads(t, entry, true)
		}
	}
}

// Tracks that run into each other are cut at whole frames, the last before each mix begins. Joined they are
// what they are without, and zeros at the end.
func TestADiscPlaysThrough(t *testing.T) {
	j := joinedSignal(t)
	chain := promiseChain(6, "pcm24", dither24) + discText
	var want map[string]string
	for _, c := range long.Or([]struct{ block, jobs int }{{777, 2}},
		[]struct{ block, jobs int }{{4096, 2}, {7, 1}, {588, 3}, {1 << 16, 1}}) {
		d := newDesk(t)
		j.write(d, joinedTracks...)
		d.write("release.toml", fmt.Sprintf("order = [%q, %q, %q]\n", joinedTracks[0], joinedTracks[1],
			joinedTracks[2])+groupOf(joinedTracks)+chain)
		d.block = c.block
		out := d.render(Options{Jobs: c.jobs})
		begin := 0
		joined, plain := stages.NewBlock(2, 0), stages.NewBlock(2, 0)
		for k, track := range joinedTracks {
			plain = plain.Append(d.samples("masters/long/" + track + ".wav"))
			got := d.samples("masters/disc/" + track + ".wav")
			joined = joined.Append(got)
			end := j.cuts[k+1] / onDisc * onDisc
			if k == len(joinedTracks)-1 {
				end = (j.cuts[k+1] + onDisc - 1) / onDisc * onDisc
			}
			if got.Frames() != end-begin {
				t.Errorf("%s: %d samples, want %d to %d", track, got.Frames(), begin, end)
			}
			entry := entryOf(t, out.Ledger, track, "disc")
			if o := entry.Output; o.Frames != int64(end-begin) || o.LeadFrames != int64(j.cuts[k]-begin) ||
				(o.PaddedFrames > 0) != (k == len(joinedTracks)-1) {
				t.Errorf("%s: the ledger has %+v", track, o)
			}
			d.reads(t, entry, false)
			begin = end
		}
		for c := range joined {
			for i, v := range joined[c] {
				if i < plain.Frames() && v != plain[c][i] || i >= plain.Frames() && v != 0 {
					t.Fatalf("channel %d, frame %d of %d: %v", c+1, i, plain.Frames(), v)
				}
			}
		}
		got := d.tree("masters")
		if want == nil {
			want = got
		}
		sameTree(t, fmt.Sprintf("blocks of %d, %d jobs", c.block, c.jobs), got, want)
		top := math.Inf(-1)
		for _, track := range joinedTracks {
			top = max(top, *entryOf(t, out.Ledger, track, "disc").Written().TruePeakDBTP)
		}
		m := meter.New(meter.Options{Rate: 44100, Weights: meter.Weights(2, 0), WholeBand: true})
		m.Write(plain)
		if whole := *ledger.Level(stages.DB(m.Reading().TruePeak)); top != whole {
			t.Errorf("the highest true peak of the tracks is %v dBTP, that of all %v", top, whole)
		}
	}
}

// A mix of another rate fails a disc, with the line that asks for it, and nothing else.
func TestADiscNeedsItsRate(t *testing.T) {
	for _, group := range []string{"", "continuous = [[\"01 quay\", \"02 breakwater\"]]\n"} {
		d := newDesk(t)
		for i, track := range ferryTracks[:2] {
			d.mix("mixes/"+track+".wav", audiofile.Info{Rate: 48000, Channels: 2, Frames: 9000,
				Encoding: audiofile.PCM24}, tone(i+1))
		}
		d.write("release.toml", group+quickChain+discText)
		out, err := d.try(context.Background(), Options{})
		d.must(err)
		failed := 0
		for _, r := range out.Results {
			if r.Delivery != "disc" {
				d.must(r.Err)
				continue
			}
			failed++
			at := strings.Count(d.read("release.toml")[:strings.Index(d.read("release.toml"), "disc_frames")],
				"\n") + 1
			want := fmt.Sprintf(`release.toml:%d: delivery "disc": disc_frames = true is for 44100 Hz, and mixes/01 `+
				`quay.wav has 48000 Hz there; want a stage of kind resample with rate_hz = 44100 in the delivery, or `+
				`no disc_frames`, at)
			if r.Track == "01 quay" && (r.State != Failed || !strings.Contains(r.Err.Error(), want)) {
				t.Errorf("%s: %v, want %s", r.Track, r.Err, want)
			}
			if r.State != Failed {
				t.Errorf("%s (disc) is %s", r.Track, r.State)
			}
		}
		if failed != 2 {
			t.Errorf("%d renders of the disc", failed)
		}
		d.edit("cue = true\n", "")
	}
}

// An entry of an earlier version has no length, which a sheet needs; a new key is named as what makes a
// render stale.
func TestWhyADiscIsStale(t *testing.T) {
	d := ferryDesk44(t)
	d.write("release.toml", quickChain+strings.Replace(discText, "disc_frames = true\n", "", 1))
	d.render(Options{})
	d.edit("cue = true\n", "disc_frames = true\ncue = true\n")
	for _, r := range d.render(Options{}).Results {
		if r.Delivery == "disc" && r.Why != "disc_frames false -> true" || r.Delivery != "disc" && r.State != Kept {
			t.Errorf("%s: %s %s", r.Label(), r.State, r.Why)
		}
	}
	d.write("masters/ledger.json", strings.ReplaceAll(d.read("masters/ledger.json"), `"frames": 20580,`, ``))
	for _, r := range d.render(Options{}).Results {
		if old := r.Delivery == "disc" && r.Track != "02 breakwater"; old &&
			r.Why != "its length is not in the ledger" || !old && r.State != Kept {
			t.Errorf("%s: %s %s", r.Label(), r.State, r.Why)
		}
	}
}
