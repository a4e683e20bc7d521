package pipeline

import (
	"errors"
	"path/filepath"
	"testing"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// nowhere is a sink that keeps nothing.
type nowhere struct{ track.Sink }

func (nowhere) Write(stages.Block) error { return nil }

// While a finished file is on its way to the disk, its token is there for other
// tracks, and afterwards the caller holds it again, however it ends.
func TestTheTokenIsLentWhileAFileIsFinished(t *testing.T) {
	boom := errors.New("boom")
	for name, end := range map[string]func() error{
		"an error": func() error { return boom },
		"a panic":  func() error { panic(boom) },
	} {
		e := &engine{mixes: &guard{}, past: &fresh.Past{}, crew: track.NewCrew(1)}
		if !e.crew.Take() {
			t.Fatal("a new crew has no token")
		}
		lent := false
		to := faultySink{nowhere{}, faulty{done: func() error {
			if lent = e.crew.Take(); lent {
				e.crew.Give()
			}
			return end()
		}}}
		_, err := track.Protect(name, func() (any, error) {
			return nil, e.finish(filepath.Join(t.TempDir(), "x.wav"), to)
		})
		if err == nil {
			t.Errorf("%s: it was lost", name)
		}
		if !lent {
			t.Errorf("%s: nobody else could have had the token", name)
		}
		if e.crew.Take() {
			t.Errorf("%s: the caller holds no token at the end", name)
		}
	}
}
