package ledger

import (
	"bytes"
	"errors"
	"slices"
	"testing"

	"ledgerline/stages"
)

// What is foreseen of an entry is neither less than half of what it takes nor more than twice as much, so
// that a ledger that is begun can be read back.
func TestSizeIsForeseen(t *testing.T) {
	l := ferry()
	l.Sum()
	for i := range l.Tracks {
		one := *l
		one.Tracks = l.Tracks[i : i+1]
		var with, without bytes.Buffer
		if err := one.Encode(&with); err != nil {
			t.Fatal(err)
		}
		one.Tracks = nil
		_ = one.Encode(&without)
		is, foreseen := int64(with.Len()-without.Len()), sizeOf(l.Tracks[i].Chain)
		if foreseen < is/2 || foreseen > 2*is {
			t.Errorf("%s: %d bytes, foreseen %d", l.Tracks[i].Name, is, foreseen)
		}
	}
}

func TestALedgerThatWouldBeTooLong(t *testing.T) {
	chain := make([]stages.Use, 100)
	chains := func(n int) func(func([]stages.Use) bool) {
		return slices.Values(slices.Repeat([][]stages.Use{chain}, n))
	}
	fit := int(mostBytes / sizeOf(chain))
	if err := CheckSize(chains(fit)); err != nil {
		t.Error(err)
	}
	var long *TooLongError
	if err := CheckSize(chains(fit + 1)); !errors.As(err, &long) {
		t.Errorf("%d of them: %v", fit+1, err)
	}
}
