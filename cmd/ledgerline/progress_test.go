package main

import (
	"testing"
	"time"
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
		w.end(false, 0)
	}
	w.advance(wholeTrack / 2)
	if got, ok := w.left(time.Second); !ok || got != 7*time.Second {
		t.Errorf("got %v, want the 3.5 tracks left at 2 s each", got)
	}
	w.end(true, wholeTrack/2)
	w.advance(wholeTrack / 4) // and then it fails
	w.end(false, wholeTrack/4)
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
