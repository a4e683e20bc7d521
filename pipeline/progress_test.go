package pipeline

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"

	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// told is a Progress that keeps what it is told, by track.
type told struct {
	mu     sync.Mutex
	events []string
	tracks map[string][]string
	frames map[string]int64
}

func (p *told) note(track, event string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if track == "" {
		p.events = append(p.events, event)
		return
	}
	p.tracks[track] = append(p.tracks[track], event)
}

func (p *told) Begin(n int) { p.note("", fmt.Sprint("begin ", n)) }
func (p *told) End()        { p.note("", "end") }
func (p *told) TrackBegin(r *release.Render, frames int64) {
	p.note(r.Track, fmt.Sprint("begin ", frames))
}
func (p *told) TrackAgain(r *release.Render, frames int64) {
	p.note(r.Track, fmt.Sprint("again ", frames))
}
func (p *told) TrackEnd(r *release.Render, result Result) { p.note(r.Track, string(result.State)) }
func (p *told) TrackAdvance(r *release.Render, frames int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.frames[r.Track] += frames
}

func TestProgressIsToldEverything(t *testing.T) {
	d := ferryDesk(t)
	d.render(Options{Tracks: []string{"01 quay"}})
	d.files = faulty{track: "02 breakwater", read: func(stages.Block) error { return syscall.EIO }}.files()
	p := &told{tracks: map[string][]string{}, frames: map[string]int64{}}
	if _, err := d.try(t.Context(), Options{Jobs: 2, Progress: p}); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(p.events, []string{"begin 3", "end"}) {
		t.Errorf("of the release: %q", p.events)
	}
	for track, want := range map[string]string{
		"01 quay": "kept", "02 breakwater": "begin 24577, failed", "03 lantern": "begin 20480, rendered",
	} {
		if got := strings.Join(p.tracks[track], ", "); got != want {
			t.Errorf("%s: %s, want %s", track, got, want)
		}
	}
	if p.frames["03 lantern"] != 20480 || p.frames["01 quay"] != 0 {
		t.Errorf("frames: %v", p.frames)
	}
}

// ordered is a Progress that keeps which renders begin and end, in order.
type ordered struct {
	silent
	mu     sync.Mutex
	events []string
}

func (p *ordered) TrackBegin(r *release.Render, _ int64) { p.note("begin " + r.Track) }
func (p *ordered) TrackEnd(r *release.Render, x Result)  { p.note(string(x.State) + " " + r.Track) }

func (p *ordered) note(event string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.events = append(p.events, event)
}

// What is kept is told before anything is rendered, so that the time that is left
// can be told of the work alone; and each result has the entries before and now.
func TestWhatIsKeptIsToldFirst(t *testing.T) {
	d := ferryDesk(t)
	d.render(Options{Tracks: []string{"02 breakwater", "03 lantern"}})
	p := &ordered{}
	out, err := d.try(t.Context(), Options{Jobs: 1, Progress: p})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"kept 02 breakwater", "kept 03 lantern", "begin 01 quay", "rendered 01 quay"}
	if !slices.Equal(p.events, want) {
		t.Errorf("got %q, want %q", p.events, want)
	}
	for _, r := range out.Results {
		if r.Is == nil || r.Is.Name != r.Track || (r.Was == nil) != (r.State == Rendered) {
			t.Errorf("%s: was %v, is %v", r.Track, r.Was, r.Is)
		}
	}
}
