package main

import (
	"testing"
	"time"

	"ledgerline/pipeline"
	"ledgerline/pipeline/release"
)

// Six of ten tracks turn out to be up to date. The time left is reckoned from the four
// that need work; half of one of them took a second.
func TestTimeLeftCountsOnlyWork(t *testing.T) {
	var w work
	w.begin(10)
	if _, ok := w.left(time.Second); ok {
		t.Error("before anything is done nobody can tell")
	}
	for range 6 {
		w.end(pipeline.Kept, 0)
	}
	w.advance(wholeTrack / 2)
	if got, ok := w.left(time.Second); !ok || got != 7*time.Second {
		t.Errorf("got %v, want the 3.5 tracks left at 2 s each", got)
	}
	w.end(pipeline.Rendered, wholeTrack/2)
	w.advance(wholeTrack / 4) // and then it fails
	w.end(pipeline.Failed, wholeTrack/4)
	if got, _ := w.left(2 * time.Second); got != 4*time.Second {
		t.Errorf("got %v, want two tracks at 2 s each", got)
	}
	if done, total := w.so(); done != wholeTrack || total != 3*wholeTrack {
		t.Errorf("%d of %d", done, total)
	}
	w.again(wholeTrack) // one that was done is to be done again
	if got, _ := w.left(2 * time.Second); got != 6*time.Second {
		t.Errorf("got %v, want three tracks at 2 s each", got)
	}
	w.advance(wholeTrack / 5)
	w.end(pipeline.Interrupted, wholeTrack/5) // what an interrupt leaves is not done, and not less to do
	if done, total := w.so(); done != wholeTrack+wholeTrack/5 || total != 4*wholeTrack {
		t.Errorf("after an interrupt %d of %d", done, total)
	}
	w.begin(1)
	if done, total := w.so(); done != 0 || total != wholeTrack {
		t.Errorf("a second run begins with %d of %d", done, total)
	}
}

// A line of figures and the least of a name fit on a narrow terminal, and names
// get what is left.
func TestBarsFitTheTerminal(t *testing.T) {
	for columns := 50; columns <= 200; columns++ {
		b := newBars(nil, columns)
		if line := b.name + 2 + b.width + figureColumns; line > columns+1 {
			t.Errorf("%d columns for a terminal of %d", line, columns)
		}
	}
	if b := newBars(nil, 60); b.name < 20 {
		t.Errorf("only %d columns for the name at 60", b.name)
	}
}

// Before anything is done there is no saying how long the rest takes.
func TestTimeLeft(t *testing.T) {
	for _, tt := range []struct {
		done, total int64
		want        string
	}{{0, 100, "--:--"}, {1, 100, "01:39"}, {50, 100, "00:01"}, {100, 100, "00:00"}, {0, 0, "--:--"}} {
		if got := timeLeft(time.Second, tt.done, tt.total); got != tt.want {
			t.Errorf("after a second, %d of %d done: %q, want %q", tt.done, tt.total, got, tt.want)
		}
	}
}

func TestNameOfATrackThatIsRenderedAgain(t *testing.T) {
	r := &release.Render{Track: "01 lantern quay"}
	for width, want := range map[int]string{
		40: "01 lantern quay, once more", 23: "01 lanter..., once more", 10: "01 lant...",
	} {
		if got := onceMore(r, width); got != want {
			t.Errorf("in %d columns: %q, want %q", width, got, want)
		}
	}
}
