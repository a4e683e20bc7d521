package pipeline

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// joined is a signal and the frames at which it is cut into mixes.
type joined struct {
	x    stages.Block
	cuts []int // the first frame of each mix, and the end
}

var joinedTracks = []string{"03 ebb", "01 flood", "02 slack"}

// joinedSignal is loud programme, cut where both its channels are over the ceiling once they are driven by 6
// dB: the second mix is shorter than what a hold looks ahead.
func joinedSignal(t *testing.T) joined {
	const over = 0.6
	frames := long.Or(6000, 42000)
	r := rand.New(rand.NewPCG(3, 4))
	tune := clipped(r)
	j := joined{x: stages.NewBlock(2, frames), cuts: []int{0}}
	for n := range frames {
		for c := range j.x {
			j.x[c][n] = math.Round(tune(c, int64(n))*0x1p23) * 0x1p-23
		}
	}
	for _, from := range long.Or([]int{2301, 4200}, []int{13001, 19500}) {
		for n := from; ; n++ {
			if a, b := j.x[0], j.x[1]; math.Abs(a[n-1]) > over && math.Abs(a[n]) > over && math.Abs(b[n]) > over {
				j.cuts = append(j.cuts, n)
				break
			}
			if n == frames-1 {
				t.Fatal("the signal is nowhere over")
			}
		}
	}
	j.cuts = append(j.cuts, frames)
	return j
}

// write writes the mixes of a group, or one of all frames.
func (j joined) write(d *desk, names ...string) {
	cuts := j.cuts
	if len(names) == 1 {
		cuts = []int{0, cuts[len(cuts)-1]}
	}
	for k, name := range names {
		d.mix("mixes/"+name+".wav", stereo(int64(cuts[k+1]-cuts[k])), func(c int, n int64) float64 {
			return j.x[c][int64(cuts[k])+n]
		})
	}
}

func groupOf(names []string) string {
	return fmt.Sprintf("continuous = [[%q, %q, %q]]\n", names[0], names[1], names[2])
}

// desks are one with the group and one with the joined mix, which has the name of the group's first track and
// so its noise.
func (j joined) desks(t *testing.T, chain string) (parts, whole *desk) {
	parts, whole = newDesk(t), newDesk(t)
	j.write(parts, joinedTracks...)
	parts.write("release.toml", groupOf(joinedTracks)+chain)
	j.write(whole, joinedTracks[0])
	whole.write("release.toml", chain)
	return parts, whole
}

// wantJoined compares the files of a group, one after the other, with that of the joined mix.
func wantJoined(t *testing.T, parts, whole *desk, folder string) {
	t.Helper()
	want := whole.samples(folder + "/" + joinedTracks[0] + ".wav")
	at := 0
	for _, name := range joinedTracks {
		got := parts.samples(folder + "/" + name + ".wav")
		for c := range got {
			for i, x := range got[c] {
				if x != want[c][at+i] {
					t.Fatalf("%s/%s, channel %d, frame %d: %v, in the joined file %v", folder, name, c+1, i, x,
						want[c][at+i])
				}
			}
		}
		at += got.Frames()
	}
	if at != want.Frames() {
		t.Errorf("%s: %d frames in all, the joined file has %d", folder, at, want.Frames())
	}
}

func TestMastersOfAGroupJoinedAreTheMasterOfTheJoinedMix(t *testing.T) {
	j := joinedSignal(t)
	clip := "\n[[stage]]\nkind = \"oversampled_clip\"\nname = \"clip\"\nceiling_dbfs = -1\nfactor = 4\n\n" +
		"[[stage]]\nkind         = \"ceiling_hold\""
	hold := "[[stage]]\nkind         = \"ceiling_hold\""
	chains := map[string]string{
		"hold":          promiseChain(6, "pcm24", dither24),
		"hold, 16 bits": promiseChain(6, "pcm16", dither16),
		"hold, bs1770": strings.Replace(promiseChain(6, "pcm24", dither24), `name         = "hold"`,
			"name = \"hold\"\nread_by = [\"exact\", \"bs1770\"]", 1),
		"clip and hold": strings.Replace(promiseChain(6, "pcm24", dither24), hold, clip, 1),
		"linked clips": strings.Replace(strings.Replace(promiseChain(6, "pcm24", dither24), hold,
			strings.Replace(clip, "factor = 4", "factor = 4\nlink = true", 1), 1),
			"[[stage]]\nkind = \"oversampled", "[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = -0.5\nlink = true\n"+
				"knee_db = 1\n\n[[stage]]\nkind = \"oversampled", 1),
		"hold of samples": strings.Replace(promiseChain(6, "pcm24", dither24), `name         = "hold"`,
			"name = \"hold\"\npeak = \"sample\"", 1),
		"hard clip": strings.Replace(quickChain, "gain_db = 4.0", "gain_db = 6.0", 1) + dither16,
		"nothing":   promiseChain(0, "float64", "")[:strings.Index(promiseChain(0, "float64", ""), "[[stage]]")],
	}
	quick := []string{"linked clips"}
	for _, name := range long.Or(quick, slices.Sorted(maps.Keys(chains))) {
		chain := chains[name]
		t.Run(name, func(t *testing.T) {
			parts, whole := j.desks(t, chain)
			parts.block = long.Or(777, parts.block)
			out, p := parts.tell(Options{Removed: true})
			one, q := whole.tell(Options{Removed: true})
			wantJoined(t, parts, whole, "masters")
			wantJoined(t, parts, whole, "masters/removed")
			var figures [2]struct{ touched, clamped, overs, clipped int64 }
			for k, tracks := range [][]ledger.Track{out.Ledger.Tracks, one.Ledger.Tracks} {
				for _, track := range tracks {
					if track.Whole.AimLoweredDB != one.Ledger.Tracks[0].Whole.AimLoweredDB {
						t.Errorf("%s: the aim is lowered by %v dB", track.Name, track.Whole.AimLoweredDB)
					}
					for _, s := range track.Stages {
						if c := s.Ceiling; c != nil {
							f := &figures[k]
							f.touched, f.clamped, f.overs = f.touched+c.TouchedSamples, f.clamped+c.ClampedSamples, f.overs+c.Overs
							if c.Cutting != nil {
								f.clipped += c.Cutting.ClippedSamples
							}
						}
					}
				}
			}
			for b, want := range one.Ledger.Tracks[0].Boundaries {
				top := math.Inf(-1)
				for _, track := range out.Ledger.Tracks {
					top = max(top, *track.Boundaries[b].TruePeakDBTP)
				}
				if top != *want.TruePeakDBTP {
					t.Errorf("boundary %d: the highest true peak is %v dBTP, of the joined mix %v", b, top,
						*want.TruePeakDBTP)
				}
			}
			if a, b := out.Ledger.Totals.RequirementsFailed > 0, one.Ledger.Totals.RequirementsFailed > 0; a != b {
				t.Errorf("the group fails a requirement: %v; the joined mix does: %v", a, b)
			}
			for _, of := range []func(*ledger.Whole) *float64{
				func(w *ledger.Whole) *float64 { return w.TruePeakBS1770DBTP },
				func(w *ledger.Whole) *float64 { return w.TruePeakSinc49DBTP },
			} {
				top := math.Inf(-1)
				for _, track := range out.Ledger.Tracks {
					top = max(top, *of(track.Whole))
				}
				if want := *of(one.Ledger.Tracks[0].Whole); top != want {
					t.Errorf("the highest true peak of a short meter is %v dBTP, of the joined mix %v", top, want)
				}
			}
			for k, s := range one.Ledger.Tracks[0].Stages {
				if s.Ceiling == nil || s.Ceiling.LinkMoreDB == nil {
					continue
				}
				least, most := math.Inf(1), math.Inf(-1)
				for _, track := range out.Ledger.Tracks {
					x := track.Stages[k].Ceiling.LinkMoreDB
					least, most = min(least, *x), max(most, *x)
				}
				if all := *s.Ceiling.LinkMoreDB; !(least <= all && all <= most && most > 0) {
					t.Errorf("stage %q: the link removes %v dB more, in the group's tracks %v to %v", s.Stage, all,
						least, most)
				}
			}
			if figures[0] != figures[1] {
				t.Errorf("of the group %+v, of the joined mix %+v", figures[0], figures[1])
			}
			for _, name := range joinedTracks {
				if p.again(name) != q.again(joinedTracks[0]) {
					t.Errorf("%s was rendered again %d times, the joined mix %d times", name, p.again(name),
						q.again(joinedTracks[0]))
				}
			}
		})
	}
}

// The ledger of each track reads what a render of its mix alone reads at the source, and what a meter reads
// of its master, but for the true peak: around a track of a group there is no silence.
func TestATrackOfAGroupIsReadByItself(t *testing.T) {
	long.Only(t, "TestADiscPlaysThrough reads the files of a group one by one")
	j := joinedSignal(t)
	parts, _ := j.desks(t, promiseChain(6, "pcm24", dither24))
	out := parts.render(Options{})
	alone := newDesk(t)
	j.write(alone, joinedTracks...)
	asIs := promiseChain(0, "pcm24", "")[:strings.Index(promiseChain(0, "pcm24", ""), "[[stage]]")]
	// What is read at the source is before the chain, which a quick run leaves out.
	alone.write("release.toml", long.Or(asIs, promiseChain(6, "pcm24", dither24)))
	masters := newDesk(t)
	for _, name := range joinedTracks {
		x := parts.samples("masters/" + name + ".wav")
		masters.mix("mixes/"+name+".wav", stereo(int64(x.Frames())), func(c int, n int64) float64 {
			return x[c][n]
		})
	}
	masters.write("release.toml", asIs)
	read := masters.render(Options{}).Ledger.Tracks
	for i, track := range alone.render(Options{}).Ledger.Tracks {
		got := out.Ledger.Tracks[i]
		track.Boundaries[0], got.Boundaries[0] = sampled(track.Boundaries[0]), sampled(got.Boundaries[0])
		if diff := cmp.Diff(track.Boundaries[0], got.Boundaries[0]); diff != "" {
			t.Errorf("%s, the source (-alone +in the group):\n%s", track.Name, diff)
		}
		last := sampled(got.Boundaries[len(got.Boundaries)-1])
		last.Boundary, last.Stage = 0, "source"
		if diff := cmp.Diff(sampled(read[i].Boundaries[0]), last); diff != "" {
			t.Errorf("%s, the master (-the file +in the group):\n%s", track.Name, diff)
		}
	}
}

// sampled is a reading without its true peak and what follows from it.
func sampled(b ledger.Boundary) ledger.Boundary {
	b.TruePeakDBTP, b.TrueHeadroomDB, b.PeakToLoudnessLU = nil, nil, nil
	return b
}

func TestAGroupIsTheSameForAnyBlockLengthAndJobs(t *testing.T) {
	long.Only(t, "TestMastersOfAGroupJoinedAreTheMasterOfTheJoinedMix has other blocks for the group than "+
		"for the whole")
	j := joinedSignal(t)
	var want map[string]string
	cuts := []struct{ block, jobs int }{{4096, 1}, {777, 3}, {4096, 4}}
	variant := long.Or("", "[variant.soft]\ndrive.gain_db = 3\n") // of groups: TestPartsAreGathered
	files := long.Or(3*2+2, 3*6+3)                                // one by itself is matched with nothing
	for _, c := range long.Or(cuts[:2], cuts) {
		d, _ := j.desks(t, promiseChain(6, "pcm16", dither16)+variant)
		if variant != "" {
			d.edit("page     = false\n", "")
		}
		d.edit(`encoding = "pcm16"`, "encoding = \"pcm16\"\nremoved = true\nmatch_loudness = true")
		d.block = c.block
		d.render(Options{Jobs: c.jobs})
		got := d.tree("masters")
		if want == nil {
			if want = got; len(want) != files {
				t.Fatalf("%d files", len(want))
			}
		}
		sameTree(t, fmt.Sprintf("blocks of %d, %d jobs", c.block, c.jobs), got, want)
	}
}

func TestOneChangedMixRendersItsGroup(t *testing.T) {
	long.Only(t, "the program's script of tracks that run into each other changes the mix of one")
	d := groupDesk(t)
	out := d.render(Options{})
	if got := states(out); got != "01 quay rendered, 02 breakwater rendered, 03 lantern rendered" {
		t.Fatal(got)
	}
	if got := states(d.render(Options{})); got != "01 quay kept, 02 breakwater kept, 03 lantern kept" {
		t.Errorf("nothing changed: %s", got)
	}
	d.mix("mixes/02 breakwater.wav", brief(4577), tone(7))
	out = d.render(Options{Tracks: []string{"01 quay"}})
	if got := states(out); got != "01 quay rendered, 02 breakwater rendered" {
		t.Errorf("the group's other mix changed: %s", got)
	}
	if got, want := out.Results[0].Why, `continuous with "02 breakwater": the mix changed`; got != want {
		t.Errorf("why: %s, want %s", got, want)
	}
	d.sameFromScratch(Options{})
	for _, edit := range []struct{ new, why string }{
		{
			`continuous = [["01 quay", "02 breakwater"]]`,
			"continuous [02 breakwater, 01 quay] -> [01 quay, 02 breakwater]",
		},
		{`continuous = true`, "continuous [01 quay, 02 breakwater] -> [01 quay, 02 breakwater, 03 lantern]"},
		{``, "continuous [01 quay, 02 breakwater, 03 lantern] -> none"},
	} {
		text := d.read("release.toml")
		_, rest, _ := strings.Cut(text, "\n")
		d.write("release.toml", edit.new+"\n"+rest)
		if got := d.render(Options{}).Results[0].Why; got != edit.why {
			t.Errorf("why: %s, want %s", got, edit.why)
		}
		d.sameFromScratch(Options{})
	}
}

// groupDesk is a desk with a group of two, not in the order of their names, and a third track.
func groupDesk(t testing.TB) *desk {
	d := calmDesk(t)
	d.write("release.toml", "continuous = [[\"02 breakwater\", \"01 quay\"]]\n"+quickChain)
	return d
}

func TestAGroupThatFails(t *testing.T) {
	d := groupDesk(t)
	d.render(Options{})
	old := d.tree("masters")
	d.mix("mixes/02 breakwater.wav", brief(4577), tone(7))
	d.mix("mixes/01 quay.wav", audiofile.Info{Rate: 48000, Channels: 2, Frames: 9000,
		Encoding: audiofile.PCM24}, tone(7))
	out, err := d.try(t.Context(), Options{})
	d.must(err)
	if got := states(out); got != "01 quay failed, 02 breakwater failed, 03 lantern kept" {
		t.Errorf("states: %s", got)
	}
	for i, want := range []string{
		`01 quay: "02 breakwater" and "01 quay" run into each other and have different rates: 8000 Hz and 48000 ` +
			`Hz; want mixes of one form, or no such group`,
		`02 breakwater: it is continuous with "01 quay", which failed: `,
	} {
		if got := out.Results[i].Err.Error(); !strings.HasPrefix(got, want) {
			t.Errorf("the error is %s, want %s", got, want)
		}
	}
	forecast, err := Forecast(t.Context(), d.load(), Options{})
	d.must(err)
	if got := states(forecast); got != "01 quay failed, 02 breakwater failed, 03 lantern kept" {
		t.Errorf("foreseen: %s", got)
	}
	d.keptOld(old, "01 quay")
	d.keptOld(old, "02 breakwater")
	d.noLitter()
}

// After a kill at any line of the journal the next run ends with what a render from scratch makes.
func TestAKilledGroupIsRenderedAgain(t *testing.T) {
	long.Only(t, "TestAKilledRunKeepsWhatItFinished has the same of single tracks")
	for lines := 1; lines <= 4; lines += long.Or(3, 1) {
		d := newDesk(t)
		d.write("release.toml", "continuous = true\n"+quickChain)
		d.mix("mixes/a.wav", brief(3000), calm(tone(1), 3000))
		d.mix("mixes/b.wav", brief(3300), calm(tone(2), 3300))
		d.render(Options{})
		d.mix("mixes/b.wav", brief(3300), calm(tone(3), 3300))
		d.killed(Options{}, lines)
		got := states(d.render(Options{}))
		if lines < 4 && got != "a rendered, b rendered" || lines == 4 && got != "a kept, b kept" {
			t.Errorf("after %d lines: %s", lines, got)
		}
		d.sameFromScratch(Options{})
	}
}

// A mix of a group that has samples that are not finite is named, with the time in it.
func TestNonFiniteSampleInAGroup(t *testing.T) {
	long.Only(t, "TestNonFiniteSamples has mixes by themselves")
	d := groupDesk(t)
	info := audiofile.Info{Rate: 8000, Channels: 2, Frames: 4000, Encoding: audiofile.Float32}
	d.mix("mixes/02 breakwater.wav", info, tone(2))
	d.mix("mixes/01 quay.wav", info, func(c int, n int64) float64 {
		if n == 800 {
			return math.NaN()
		}
		return 0.1
	})
	out, err := d.try(t.Context(), Options{})
	d.must(err)
	if got, want := out.Results[0].Err.Error(),
		"01 quay: 2 samples of the mix are NaN or infinite, the first at 0.1 s in channel 1: "; !strings.HasPrefix(
		got, want) {
		t.Errorf("the error is %s, want %s", got, want)
	}
	out = d.render(Options{AllowNonFinite: true})
	if out.Failed() != 0 || !slices.ContainsFunc(out.Results[0].Warnings, func(w string) bool {
		return strings.Contains(w, "2 samples")
	}) {
		t.Errorf("zeros in their place: %v, %v", states(out), out.Results[0].Warnings)
	}
	if len(out.Results[1].Warnings) > 0 {
		t.Errorf("the other mix: %v", out.Results[1].Warnings)
	}
}

func (d *desk) load() *release.Release {
	d.t.Helper()
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	return r
}
