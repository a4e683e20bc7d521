package pipeline

import (
	"context"
	"errors"
	"os"
	"slices"
	"testing"

	"ledgerline/pipeline/ledger"
)

// A release whose ledger could not be read back is refused before anything is rendered, by a render and by
// what foretells it.
func TestAReleaseWithTooLongALedger(t *testing.T) {
	d := ferryDesk(t)
	r := d.load()
	r.Renders = slices.Repeat(r.Renders, 40_000) // of 9,000 bytes or more each
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	_, err := RenderRelease(ctx, r, Options{Progress: func(Event) { cancel() }}) // so many renders take an hour
	_, foretold := Forecast(t.Context(), r, Options{})
	for _, err := range []error{err, foretold} {
		if long := (*ledger.TooLongError)(nil); !errors.As(err, &long) || Curable(err) {
			t.Errorf("%v, want that the ledger is too long", err)
		}
	}
	if _, err := os.Stat(d.path("masters")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the output folder: %v", err)
	}
}
