package pipeline

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"

	"ledgerline/stages"
)

// told keeps what it is told, by track.
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

func (p *told) hear(e Event) {
	switch e.Step {
	case Deciding:
		p.note("", fmt.Sprint("begin ", e.Count))
	case Done:
		p.note("", "end")
	case Begun:
		p.note(e.Render.Track, fmt.Sprint("begin ", e.Count))
	case BegunAgain:
		p.note(e.Render.Track, fmt.Sprint("again ", e.Count))
	case Ended:
		p.note(e.Render.Track, string(e.Result.State))
	case Advanced:
		p.mu.Lock()
		defer p.mu.Unlock()
		p.frames[e.Render.Track] += e.Count
	}
}

func TestProgressIsToldEverything(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{Tracks: []string{"01 quay"}})
	d.files = faulty{track: "02 breakwater", read: func(stages.Block) error { return syscall.EIO }}.files()
	p := &told{tracks: map[string][]string{}, frames: map[string]int64{}}
	if _, err := d.try(t.Context(), Options{Jobs: 2, Progress: p.hear}); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(p.events, []string{"begin 3", "end"}) {
		t.Errorf("of the release: %q", p.events)
	}
	for track, want := range map[string]string{
		"01 quay": "kept", "02 breakwater": "begin 4577, failed", "03 lantern": "begin 4096, rendered",
	} {
		if got := strings.Join(p.tracks[track], ", "); got != want {
			t.Errorf("%s: %s, want %s", track, got, want)
		}
	}
	if p.frames["03 lantern"] != 4096 || p.frames["01 quay"] != 0 {
		t.Errorf("frames: %v", p.frames)
	}
}

// What is kept is told before anything is rendered, so that the time that is left
// can be told of the work alone; and each result has the entries before and now.
func TestWhatIsKeptIsToldFirst(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{Tracks: []string{"02 breakwater", "03 lantern"}})
	var mu sync.Mutex
	var events []string
	out, err := d.try(t.Context(), Options{Jobs: 1, Progress: func(e Event) {
		mu.Lock()
		defer mu.Unlock()
		switch e.Step {
		case Begun:
			events = append(events, "begin "+e.Render.Track)
		case Ended:
			events = append(events, string(e.Result.State)+" "+e.Render.Track)
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"kept 02 breakwater", "kept 03 lantern", "begin 01 quay", "rendered 01 quay"}
	if !slices.Equal(events, want) {
		t.Errorf("got %q, want %q", events, want)
	}
	for _, r := range out.Results {
		if r.Is == nil || r.Is.Name != r.Track || (r.Was == nil) != (r.State == Rendered) {
			t.Errorf("%s: was %v, is %v", r.Track, r.Was, r.Is)
		}
	}
}
