package pipeline

import (
	"errors"
	"path/filepath"
	"testing"

	"golang.org/x/sync/semaphore"
)

// While a finished file is on its way to the disk, its token is there for other
// tracks, and behind it the caller holds it again, however it ends.
func TestTheTokenIsLentWhileAFileIsFinished(t *testing.T) {
	boom := errors.New("boom")
	for name, end := range map[string]func() error{
		"an error": func() error { return boom },
		"a panic":  func() error { panic(boom) },
	} {
		e := &engine{mixes: &guard{}, tokens: semaphore.NewWeighted(1)}
		e.tokens.TryAcquire(1)
		lent := false
		to := faultySink{nowhere{}, faulty{done: func() error {
			if lent = e.tokens.TryAcquire(1); lent {
				e.tokens.Release(1)
			}
			return end()
		}}}
		_, err := protect(name, func() (any, error) { return nil, e.finish(filepath.Join(t.TempDir(), "x.wav"), to) })
		if err == nil {
			t.Errorf("%s: it was lost", name)
		}
		if !lent {
			t.Errorf("%s: nobody else could have had the token", name)
		}
		if e.tokens.TryAcquire(1) {
			t.Errorf("%s: the caller holds no token at the end", name)
		}
	}
}
