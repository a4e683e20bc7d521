package pipeline

import (
	"context"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// head is the beginning of a release file whose masters are in an encoding.
func head(encoding string) string {
	return fmt.Sprintf(`
title        = "Night Ferry"
sources      = ["mixes/*.wav"]
ceiling_dbfs = -1.0
output       = { folder = "masters", encoding = %q }
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

// shortDesk is a desk with three mixes that are shorter still than those of ferryDesk, for chains with holds.
func shortDesk(t testing.TB) *desk {
	d := newDesk(t)
	for i, frames := range []int64{9000, 8192, 10001} {
		d.mix("mixes/"+ferryTracks[i]+".wav", stereo(frames), tone(i+1))
	}
	return d
}

// deliveryDesk is a desk with such mixes and a release with a hold and some deliveries.
func deliveryDesk(t testing.TB) *desk {
	d := shortDesk(t)
	text := head("pcm24")
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

// A delivery is what a release is whose own chain is all of the delivery's stages, whatever is rendered with it.
func TestADeliveryIsTheWholeOfItsChain(t *testing.T) {
	d := deliveryDesk(t)
	d.render(Options{Jobs: 2})
	for _, x := range deliveredFerry {
		if x.name == "again" {
			continue // its first hold leaves room for a dither that is in the release's own chain only
		}
		own := shortDesk(t)
		text := head(x.encoding)
		for _, s := range slices.Concat(x.before, x.own) {
			text += stage("[[stage]]", s...)
		}
		own.write("release.toml", text)
		own.render(Options{})
		for _, track := range ferryTracks {
			if got, want := d.read("masters/"+x.name+"/"+track+".wav"), own.read("masters/"+track+".wav"); got != want {
				t.Errorf("%s of %q is not what its chain makes: they differ at byte %d", x.name, track, firstDifference(got, want))
			}
		}
	}
}

// Where a delivery has a hold of its own, what it begins with is what the master's chain has there.
func TestADeliveryBeginsAsTheMasterDoes(t *testing.T) {
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
	var want map[string]string
	check := func(name string, render func(*desk)) {
		d := deliveryDesk(t)
		render(d)
		got := d.tree("masters")
		if want == nil {
			want = got
			masters := slices.DeleteFunc(slices.Collect(maps.Keys(want)), func(name string) bool { return !strings.HasSuffix(name, ".wav") })
			if len(masters) != 3*5 {
				t.Fatalf("%d masters; want five renders of three tracks", len(masters))
			}
		}
		sameTree(t, name, got, want)
	}
	check("all at once", func(d *desk) { d.render(Options{Jobs: 2}) })
	check("one after the other", func(d *desk) {
		for _, name := range []string{"raw", "disc", "", "again", "low"} {
			d.render(Options{Deliveries: []string{name}})
		}
	})
	for _, c := range []struct{ block, jobs int }{{1000, 1}, {4095, 3}} {
		check(fmt.Sprintf("blocks of %d, %d jobs", c.block, c.jobs), func(d *desk) {
			d.block = c.block
			d.render(Options{Jobs: c.jobs})
		})
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
	d.render(Options{Jobs: 2})
	if n := opened.Load(); n != 3 {
		t.Errorf("3 mixes were opened %d times", n)
	}
}

// Each delivery is fresh or stale by itself.
func TestADeliveryIsStaleByItself(t *testing.T) {
	d := deliveryDesk(t)
	d.render(Options{Jobs: 2})
	for _, c := range []struct {
		name string
		edit func()
		want string // rendered of each track
	}{
		{"nothing", func() {}, ""},
		{"a delivery's own stage", func() { d.edit("bits = 16", "bits = 15") }, "disc"},
		{"a delivery's encoding", func() { d.edit(`encoding = "float32"`, `encoding = "float64"`) }, "low"},
		{"what is only in the release's own chain", func() { d.edit("bits = 24", "bits = 23") }, "the master, again, disc"},
		{"where a delivery begins", func() { d.edit(`from = "clip"`, `from = "drive"`) }, "low"},
		{"the beginning of all but one", func() { d.edit("gain_db = 4.0", "gain_db = 4.5") }, "the master, again, disc, low"},
		{"a file is gone", func() {
			for _, track := range ferryTracks {
				d.must(os.Remove(d.path("masters/raw/" + track + ".wav")))
			}
		}, "raw"},
	} {
		c.edit()
		rendered := map[string][]string{}
		for _, r := range d.render(Options{Jobs: 2}).Results {
			if r.State == Rendered {
				rendered[r.Track] = append(rendered[r.Track], nameOf(r))
			}
		}
		for _, track := range ferryTracks {
			if got := strings.Join(rendered[track], ", "); got != c.want {
				t.Errorf("%s: of %q %q was rendered, want %q", c.name, track, got, c.want)
			}
		}
	}
}

// A delivery that fails keeps its old file and its old entry. The others are finished.
func TestADeliveryFailsByItself(t *testing.T) {
	for _, c := range []struct {
		name string
		f    faulty
	}{
		{"a full disk while writing", faulty{write: func() error { return syscall.ENOSPC }}},
		{"a full disk at the end", faulty{done: func() error { return syscall.ENOSPC }}},
	} {
		d := deliveryDesk(t)
		d.render(Options{Jobs: 2})
		old := d.tree("masters")
		d.edit("gain_db = 4.0", "gain_db = 4.5")
		c.f.track = "disc/02 breakwater"
		d.files = c.f.files()
		out, err := d.try(context.Background(), Options{Jobs: 2})
		d.must(err)
		for _, r := range out.Results {
			want := Rendered
			switch {
			case r.Track == "02 breakwater" && r.Delivery == "disc":
				want = Failed
			case r.Delivery == "raw":
				want = Kept
			}
			if r.State != want {
				t.Errorf("%s: %s %s, want %s: %v", c.name, r.Label(), r.State, want, r.Err)
			}
			name := "masters/" + r.Delivery + "/" + r.Track + ".wav"
			if same := d.read(name) == old[strings.Replace(name, "//", "/", 1)]; same != (want != Rendered) {
				t.Errorf("%s: %s is the old file: %v", c.name, name, same)
			}
		}
	}
	d := deliveryDesk(t)
	d.write("masters/disc/02 breakwater.wav", "somebody else's")
	out, err := d.try(context.Background(), Options{Jobs: 2})
	d.must(err)
	if out.Failed() != 1 || d.read("masters/disc/02 breakwater.wav") != "somebody else's" {
		t.Errorf("%d failed, want the delivery that a foreign file is in the way of", out.Failed())
	}
}

// The holds of each delivery aim by themselves: where one's promise is not kept, that delivery alone is rendered
// again, and all keep theirs.
func TestADeliverysHoldIsAimedByItself(t *testing.T) {
	d := newDesk(t)
	d.mix("mixes/noise.wav", stereo(30000), clipped(rand.New(rand.NewPCG(1, 2))))
	wide := []string{`kind = "ceiling_hold"`, `name = "wide"`, `ceiling_dbfs = -2.0`, `read_by = ["exact", "bs1770", "sinc49"]`}
	d.write("release.toml", head("pcm24")+stage("[[stage]]", drive...)+stage("[[stage]]", clip...)+
		delivered{name: "read", encoding: "pcm24", own: [][]string{wide}}.table()+
		delivered{name: "plain", encoding: "float32", own: [][]string{down}}.table())
	var mu sync.Mutex
	again := map[string]int{}
	out := d.render(Options{Progress: func(e Event) {
		mu.Lock()
		defer mu.Unlock()
		if e.Step == BegunAgain {
			again[e.Render.Delivery]++
		}
	}})
	if again["read"] == 0 || len(again) > 1 {
		t.Errorf("rendered again: %v; want the delivery that is read by short meters, and nothing else", again)
	}
	highest := math.Inf(-1)
	for _, e := range out.Ledger.Tracks {
		if e.Delivery != "read" {
			continue
		}
		for name, peak := range map[string]*float64{
			"BS.1770": e.Whole.TruePeakBS1770DBTP, "a short sinc": e.Whole.TruePeakSinc49DBTP,
			"the meter": e.Boundaries[len(e.Boundaries)-1].TruePeakDBTP,
		} {
			if peak == nil {
				t.Errorf("by %s the delivery is silent", name)
			} else if highest = max(highest, *peak); *peak > -2 {
				t.Errorf("by %s the delivery reads %v dBTP, want no more than -2", name, *peak)
			}
		}
		if e.Whole.AimLoweredDB <= 0 {
			t.Errorf("the aim was lowered by %v dB", e.Whole.AimLoweredDB)
		}
	}
	if highest < -2.1 {
		t.Errorf("all meters read %v dBTP or less, want one near -2", highest)
	}
}

// Deliveries of tracks that run into each other do so, too.
func TestDeliveriesOfContinuousTracks(t *testing.T) {
	d := deliveryDesk(t)
	d.edit("ceiling_dbfs", `continuous = [["01 quay", "02 breakwater"]]`+"\nceiling_dbfs")
	var opened atomic.Int64
	d.files.open = func(path string) (track.AudioFile, error) {
		opened.Add(1)
		return onDisk.open(path)
	}
	d.render(Options{Jobs: 2})
	if n := opened.Load(); n != 3 {
		t.Errorf("3 mixes were opened %d times", n)
	}
	all := d.tree("masters")
	alone := deliveryDesk(t)
	alone.edit("ceiling_dbfs", `continuous = [["01 quay", "02 breakwater"]]`+"\nceiling_dbfs")
	for _, x := range []string{"raw", "again", "low", "", "disc"} {
		alone.block = 1000
		alone.render(Options{Deliveries: []string{x}})
	}
	sameTree(t, "one after the other", alone.tree("masters"), all)
	own := shortDesk(t)
	own.write("release.toml", strings.Replace(head("pcm16"), "ceiling_dbfs", `continuous = [["01 quay", "02 breakwater"]]`+"\nceiling_dbfs", 1)+
		stage("[[stage]]", drive...)+stage("[[stage]]", clip...)+stage("[[stage]]", hold...)+stage("[[stage]]", coarse...)+stage("[[stage]]", peaks...))
	own.render(Options{})
	for _, track := range ferryTracks {
		if got, want := d.read("masters/disc/"+track+".wav"), own.read("masters/"+track+".wav"); got != want {
			t.Errorf("%q differs at byte %d", track, firstDifference(got, want))
		}
	}
	if got := states(d.render(Options{Jobs: 2})); strings.Contains(got, "rendered") {
		t.Errorf("rendered again: %s", got)
	}
}

// A group of which one file cannot be written fails as a whole, in that delivery alone.
func TestADeliveryOfContinuousTracksFailsByItself(t *testing.T) {
	d := deliveryDesk(t)
	d.edit("ceiling_dbfs", `continuous = [["01 quay", "02 breakwater"]]`+"\nceiling_dbfs")
	f := faulty{track: "low/02 breakwater", write: func() error { return syscall.ENOSPC }}
	d.files = f.files()
	out, err := d.try(context.Background(), Options{Jobs: 2})
	d.must(err)
	for _, r := range out.Results {
		if want := r.Delivery == "low" && r.Track != "03 lantern"; (r.State == Failed) != want {
			t.Errorf("%s %s: %v", r.Label(), r.State, r.Err)
		}
	}
}

// A delivery may be made of a variant; and its files belong to the release as long as it does.
func TestADeliveryOfAVariantComesAndGoes(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml", quickChain+"[variant.loud]\ndrive.gain_db = 8.0\n[[delivery]]\nname = \"disc\"\nvariant = \"loud\"\nencoding = \"pcm16\"\n")
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
	d.write("release.toml", quickChain+delivered{name: "low", encoding: "float32", own: [][]string{down, clipAt(-9)}}.table())
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
	d := ferryDesk(t)
	d.write("release.toml", quickChain+delivered{name: "video", encoding: "float32", own: [][]string{{`kind = "resample"`, `rate_hz = 48000`}}}.table())
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
	d.render(Options{Jobs: 2})
	for name, want := range map[string]audiofile.Encoding{"": "pcm24", "disc/": "pcm16", "low/": "float32", "raw/": "float64"} {
		r, err := audiofile.Open(d.path("masters/" + name + "01 quay.wav"))
		d.must(err)
		if got := r.Info().Encoding; got != want {
			t.Errorf("%q is %s, want %s", name, got, want)
		}
		r.Close()
	}
}
