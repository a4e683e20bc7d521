package pipeline

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"

	"ledgerline/pipeline/track"
	"ledgerline/stages/stagetest/long"
)

// Each delivery is fresh or stale by itself.
func TestADeliveryIsStaleByItself(t *testing.T) {
	d := deliveryDesk(t)
	tracks := ferryTracks[:long.Or(1, 3)]
	d.render(Options{Jobs: 2, Tracks: tracks})
	for _, c := range []struct {
		name string
		edit func()
		want string // rendered of each track
	}{
		{"nothing", func() {}, ""},
		{"a delivery's own stage", func() { d.edit("bits = 16", "bits = 15") }, "disc"},
		{"a delivery's encoding", func() { d.edit(`encoding = "float32"`, `encoding = "float64"`) }, "low"},
		{
			"what is only in the release's own chain", func() { d.edit("bits = 24", "bits = 23") },
			"the master, again, disc",
		},
		{"where a delivery begins", func() { d.edit(`from = "clip"`, `from = "drive"`) }, "low"},
		{
			"the beginning of all but one", func() { d.edit("gain_db = 4.0", "gain_db = 4.5") },
			"the master, again, disc, low",
		},
		{"a file is gone", func() {
			for _, track := range tracks {
				d.must(os.Remove(d.path("masters/raw/" + track + ".wav")))
			}
		}, "raw"},
	} {
		c.edit()
		rendered := map[string][]string{}
		for _, r := range d.render(Options{Jobs: 2, Tracks: tracks}).Results {
			if r.State == Rendered {
				rendered[r.Track] = append(rendered[r.Track], nameOf(r))
			}
		}
		for _, track := range tracks {
			if got := strings.Join(rendered[track], ", "); got != c.want {
				t.Errorf("%s: of %q %q was rendered, want %q", c.name, track, got, c.want)
			}
		}
	}
}

// A delivery that fails keeps its old file and its old entry. The others are finished.
func TestADeliveryFailsByItself(t *testing.T) {
	silent := func() *desk {
		d := deliveryDesk(t)
		if deaf() == "" {
			d.edit("sources ", "audibility = { measure = false }\nsources ")
		}
		return d
	}
	cases := []struct {
		name string
		f    faulty
	}{
		{"a full disk while writing", faulty{write: func() error { return syscall.ENOSPC }}},
		{"a full disk at the end", faulty{done: func() error { return syscall.ENOSPC }}},
	}
	tracks := ferryTracks[long.Or(1, 0):long.Or(2, 3)]
	for _, c := range cases[:long.Or(1, 2)] {
		d := silent()
		d.render(Options{Jobs: 2, Tracks: tracks})
		old := d.tree("masters")
		d.edit("gain_db = 4.0", "gain_db = 4.5")
		c.f.track = "disc/02 breakwater"
		d.files = c.f.files()
		out, err := d.try(context.Background(), Options{Jobs: 2, Tracks: tracks})
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
	d := silent()
	d.write("masters/disc/02 breakwater.wav", "somebody else's")
	out, err := d.try(context.Background(), Options{Jobs: 2, Tracks: tracks})
	d.must(err)
	if out.Failed() != 1 || d.read("masters/disc/02 breakwater.wav") != "somebody else's" {
		t.Errorf("%d failed, want the delivery that a foreign file is in the way of", out.Failed())
	}
}

// The holds of each delivery aim by themselves: where one's promise is not kept, that delivery alone is
// rendered again, and all keep theirs.
func TestADeliverysHoldIsAimedByItself(t *testing.T) {
	long.Only(t, "TestADeliveryIsTheWholeOfItsChain has holds of other aims")
	d := newDesk(t)
	d.mix("mixes/noise.wav", stereo(long.Or[int64](6000, 30000)), clipped(rand.New(rand.NewPCG(1, 2))))
	wide := []string{
		`kind = "ceiling_hold"`, `name = "wide"`, `ceiling_dbfs = -2.0`, `read_by = ["exact", "bs1770", "sinc49"]`,
	}
	d.write("release.toml", head("pcm24")+deaf()+stage("[[stage]]", drive...)+stage("[[stage]]", clip...)+
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
	long.Only(t, "TestADiscPlaysThrough has deliveries of a group, and "+
		"TestDeliveriesAreRenderedInOnePass counts mixes that are opened")
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
	own.write("release.toml",
		strings.Replace(head("pcm16"), "ceiling_dbfs", `continuous = [["01 quay", "02 breakwater"]]`+
			"\nceiling_dbfs", 1)+
			stage("[[stage]]", drive...)+stage("[[stage]]", clip...)+stage("[[stage]]", hold...)+
			stage("[[stage]]", coarse...)+stage("[[stage]]", peaks...))
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
	long.Only(t, "TestADeliveryFailsByItself and TestAGroupThatFails have each by itself")
	d := deliveryDesk(t)
	if !long.Wanted() {
		d.must(os.Remove(d.path("mixes/03 lantern.wav"))) // one without a group
	}
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
