package pipeline

import (
	"context"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages/stagetest/long"
)

// head is the beginning of a release file whose masters are in an encoding.
func head(encoding string) string {
	return fmt.Sprintf(`
title        = "Night Ferry"
sources      = ["mixes/*.wav"]
ceiling_dbfs = -1.0
output       = { folder = "masters", encoding = %q, page = false }
`, encoding)
}

// stage is a stage's table, under a header such as [[stage]].
func stage(header string, lines ...string) string {
	return header + "\n" + strings.Join(lines, "\n") + "\n"
}

var (
	drive  = []string{`kind = "gain"`, `name = "drive"`, `gain_db = 4.0`}
	clip   = []string{`kind = "hard_clip"`, `name = "clip"`, `ceiling_dbfs = -1.0`}
	hold   = []string{`kind = "ceiling_hold"`, `name = "hold"`, `ceiling_dbfs = -1.0`}
	down   = []string{`kind = "gain"`, `name = "down"`, `gain_db = -3.0`}
	low    = []string{`kind = "ceiling_hold"`, `name = "low"`, `ceiling_dbfs = -4.0`}
	fine   = []string{`kind = "dither"`, `name = "fine"`, `bits = 24`}
	coarse = []string{`kind = "dither"`, `name = "coarse"`, `bits = 16`}
	peaks  = []string{`kind = "measure"`, `name = "peaks"`, `true_peak_max_dbtp = -1.0`}
)

// A delivered is a delivery of the test release, and the stages that it begins with.
type delivered struct {
	name, encoding, from string
	before, own          [][]string
}

// The deliveries go on from the last stage that makes the programme, from before it, and from the mix.
var deliveredFerry = []delivered{
	{"disc", "pcm16", "", [][]string{drive, clip, hold}, [][]string{coarse, peaks}},
	{"low", "float32", "clip", [][]string{drive, clip}, [][]string{down, low}},
	{"raw", "float64", "source", nil, nil},
	{"again", "pcm24", "hold", [][]string{drive, clip, hold}, [][]string{down, low, fine}},
}

// table is the delivery as a release file has it.
func (x delivered) table() string {
	text := fmt.Sprintf("[[delivery]]\nname = %q\nencoding = %q\n", x.name, x.encoding)
	if x.from != "" {
		text += fmt.Sprintf("from = %q\n", x.from)
	}
	for _, s := range x.own {
		text += stage("[[delivery.stage]]", s...)
	}
	return text
}

// deaf has a quick run not measure what can be heard of the masters.
func deaf() string { return long.Or("audibility = { measure = false }\n", "") }

// shortDesk is a desk with three mixes that are shorter still than those of ferryDesk, for chains with holds.
func shortDesk(t testing.TB) *desk {
	d := newDesk(t)
	for i, frames := range long.Or([]int64{5000, 4096, 6001}, []int64{9000, 8192, 10001}) {
		d.mix("mixes/"+ferryTracks[i]+".wav", narrow(frames), tone(i+1))
	}
	return d
}

// deliveryDesk is a desk with such mixes and a release with a hold and some deliveries.
func deliveryDesk(t testing.TB) *desk {
	d := shortDesk(t)
	text := head("pcm24") + deaf()
	for _, s := range [][]string{drive, clip, hold, fine} {
		text += stage("[[stage]]", s...)
	}
	for _, x := range deliveredFerry {
		text += x.table()
	}
	d.write("release.toml", text)
	return d
}

func nameOf(r Result) string {
	if r.Delivery == "" {
		return "the master"
	}
	return r.Delivery
}

var ferryTracks = []string{"01 quay", "02 breakwater", "03 lantern"}

// A delivery is what a release is whose own chain is all of the delivery's stages, whatever is rendered with
// it.
func TestADeliveryIsTheWholeOfItsChain(t *testing.T) {
	d := deliveryDesk(t)
	o := Options{Jobs: 2, Tracks: ferryTracks[:long.Or(2, 3)]}
	d.render(o)
	for _, x := range deliveredFerry {
		if x.name == "again" {
			continue // its first hold leaves room for a dither that is in the release's own chain only
		}
		own := shortDesk(t)
		text := head(x.encoding) + deaf()
		for _, s := range slices.Concat(x.before, x.own) {
			text += stage("[[stage]]", s...)
		}
		own.write("release.toml", text)
		own.render(o)
		for _, track := range o.Tracks {
			if got, want := d.read("masters/"+x.name+"/"+track+".wav"),
				own.read("masters/"+track+".wav"); got != want {
				t.Errorf("%s of %q is not what its chain makes: they differ at byte %d", x.name, track,
					firstDifference(got, want))
			}
		}
	}
}

// Where a delivery has a hold of its own, what it begins with is what the master's chain has there.
func TestADeliveryBeginsAsTheMasterDoes(t *testing.T) {
	long.Only(t, "TestADeliveryIsTheWholeOfItsChain compares deliveries with whole chains")
	d := deliveryDesk(t)
	out := d.render(Options{Jobs: 2, Tracks: ferryTracks[:1]})
	var master, again ledger.Track
	for _, e := range out.Ledger.Tracks {
		switch e.Delivery {
		case "":
			master = e
		case "again":
			again = e
		}
	}
	if diff := cmp.Diff(master.Boundaries[:4], again.Boundaries[:4]); diff != "" {
		t.Errorf("boundaries up to the hold (-master +delivery):\n%s", diff)
	}
	if diff := cmp.Diff(master.Stages[:3], again.Stages[:3]); diff != "" {
		t.Errorf("stages up to the hold (-master +delivery):\n%s", diff)
	}
}

// Neither what is rendered in the same pass nor how the work is cut up shows in what comes out.
func TestDeliveriesAreTheSameInAnyPass(t *testing.T) {
	long.Only(t, "TestADeliveryIsTheWholeOfItsChain compares deliveries with renders by themselves")
	var want map[string]string
	tracks := ferryTracks[:long.Or(1, 3)] // a pass is of one
	check := func(name string, render func(*desk)) {
		d := deliveryDesk(t)
		render(d)
		got := d.tree("masters")
		if want == nil {
			want = got
			masters := slices.DeleteFunc(slices.Collect(maps.Keys(want)), func(name string) bool {
				return !strings.HasSuffix(name, ".wav")
			})
			if len(masters) != len(tracks)*5 {
				t.Fatalf("%d masters; want five renders of each track", len(masters))
			}
		}
		sameTree(t, name, got, want)
	}
	check("all at once", func(d *desk) { d.render(Options{Jobs: 2, Tracks: tracks}) })
	check("one after the other", func(d *desk) {
		d.block = long.Or(4095, d.block)
		for _, name := range []string{"raw", "disc", "", "again", "low"} {
			d.render(Options{Deliveries: []string{name}, Tracks: tracks})
		}
	})
	blocks := []struct{ block, jobs int }{{4095, 3}, {1000, 1}}
	for _, c := range blocks[:long.Or(0, 2)] {
		check(fmt.Sprintf("blocks of %d, %d jobs", c.block, c.jobs), func(d *desk) {
			d.block = c.block
			d.render(Options{Jobs: c.jobs})
		})
	}
	if !long.Wanted() {
		return
	}
	check("again, by force", func(d *desk) {
		d.render(Options{Deliveries: []string{"disc"}})
		d.render(Options{Force: true})
	})
}

// What is before the deliveries is rendered once for all of them: each mix is read once.
func TestDeliveriesAreRenderedInOnePass(t *testing.T) {
	d := deliveryDesk(t)
	var opened atomic.Int64
	d.files.open = func(path string) (track.AudioFile, error) {
		opened.Add(1)
		return onDisk.open(path)
	}
	d.render(Options{Jobs: 2, Tracks: ferryTracks[:2]})
	if n := opened.Load(); n != 2 {
		t.Errorf("2 mixes were opened %d times", n)
	}
}

// A delivery may be made of a variant; and its files belong to the release as long as it does.
func TestADeliveryOfAVariantComesAndGoes(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml", quickChain+"[variant.loud]\ndrive.gain_db = 8.0\n[[delivery]]\nname = \"disc\"\n"+
		"variant = \"loud\"\nencoding = \"pcm16\"\n")
	out := d.render(Options{Removed: true})
	got, want := d.samples("masters/disc/01 quay.wav"), d.samples("masters/loud/01 quay.wav")
	for c := range want {
		for i, x := range want[c] {
			if y := got[c][i]; y-x > 1.0/(1<<15) || x-y > 1.0/(1<<15) {
				t.Fatalf("channel %d frame %d: %v, want %v of the variant", c, i, y, x)
			}
		}
	}
	if out.Left.Files > 0 {
		t.Errorf("left over: %v", out.Left)
	}
	if _, err := os.Stat(d.path("masters/disc/removed")); err == nil {
		t.Error("a delivery has a removed file")
	}
	d.write("release.toml", quickChain+"[[delivery]]\nname = \"other\"\n")
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	files, err := Tidy(context.Background(), r, true)
	d.must(err)
	why := map[string]string{}
	for _, f := range files {
		why[f.File] = fmt.Sprintf("%s: %s", f.State, f.Why)
	}
	for _, track := range ferryTracks {
		if got := why["disc/"+track+".wav"]; got != `deleted: the release has no variant and no delivery "disc"` {
			t.Errorf("disc/%s.wav: %q", track, got)
		}
	}
}

// What moved at the stages that a delivery has in common with its master is told of the master only.
func TestWhatMovedIsToldOfTheMaster(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml",
		quickChain+delivered{name: "low", encoding: "float32", own: [][]string{down, clipAt(-9)}}.table())
	before := d.render(Options{}).Ledger
	d.edit("gain_db = 4.0", "gain_db = 6.0")
	c := ledger.Compare(before, d.render(Options{}).Ledger, 0.01)
	at := map[string]int{}
	for _, m := range c.Moves {
		if m.Delivery == "low" && !m.Follows {
			at[m.Stage]++
		}
	}
	if at["source"]+at["drive"]+at["clip"] > 0 || at["deep"] == 0 {
		t.Errorf("moves of the delivery that are told, by stage: %v; want those of its own clip", at)
	}
}

func clipAt(ceilingDBFS float64) []string {
	return []string{`kind = "hard_clip"`, `name = "deep"`, fmt.Sprintf("ceiling_dbfs = %v", ceilingDBFS)}
}

// A delivery that a mix's rate cannot have fails of that track alone, and check foresees it.
func TestADeliveryAtARateThatIsNotToBeHad(t *testing.T) {
	d := ferryDesk44(t)
	d.write("release.toml", quickChain+delivered{name: "video", encoding: "float32",
		own: [][]string{{`kind = "resample"`, `rate_hz = 48000`}}}.table())
	odd := stereo(2000)
	odd.Rate = 43999
	d.mix("mixes/02 breakwater.wav", odd, tone(2))
	forecast, err := Forecast(t.Context(), d.load(), Options{})
	d.must(err)
	out, err := d.try(t.Context(), Options{Jobs: 2})
	d.must(err)
	for _, o := range []*Outcome{forecast, out} {
		for _, r := range o.Results {
			if want := r.Track == "02 breakwater" && r.Delivery == "video"; (r.State == Failed) != want {
				t.Errorf("%s %s: %v", r.Label(), r.State, r.Err)
			}
		}
	}
	if n := len(d.samples("masters/video/01 quay.wav")[0]); n != 21769 { // 20000 * 160/147 = 21768.7
		t.Errorf("%d frames at 48 kHz", n)
	}
}

func TestEncodingsOfDeliveries(t *testing.T) {
	d := deliveryDesk(t)
	d.render(Options{Jobs: 2, Tracks: ferryTracks[:1]})
	for name, want := range map[string]audiofile.Encoding{
		"": "pcm24", "disc/": "pcm16", "low/": "float32", "raw/": "float64",
	} {
		r, err := audiofile.Open(d.path("masters/" + name + "01 quay.wav"))
		d.must(err)
		if got := r.Info().Encoding; got != want {
			t.Errorf("%q is %s, want %s", name, got, want)
		}
		r.Close()
	}
}
