package ledger

import (
	"fmt"

	"ledgerline/stages"
)

// mostBytes is the longest ledger that a render begins, in bytes as Size foresees them. Twice as long a one
// is read, so that what a render writes can be read back, though figures take more room than foreseen.
const mostBytes = largest / 2

// TooLongError says that a ledger would be too long to be read back.
type TooLongError struct {
	Bytes int64 // foreseen
}

func (e *TooLongError) Error() string {
	return fmt.Sprintf("the ledger would be of some %d MB, and at most %d MB are read: make several releases "+
		"of it, or fewer stages",
		e.Bytes/1e6, int64(mostBytes)/1e6)
}

// CheckSize fails with a *TooLongError if the ledger of some renders would be too long; their chains are
// given one by one.
func CheckSize(chains func(yield func([]stages.Use) bool)) error {
	total := int64(0)
	for chain := range chains {
		total += sizeOf(chain)
	}
	if total > mostBytes {
		return &TooLongError{total}
	}
	return nil
}

// sizeOf foresees the bytes of an entry, as measured on the example and on short mixes of its: the reading of
// a boundary has 700; a stage's settings, figures and row 700; what came of a ceiling 1200 more, with its
// worst overs; the rest of an entry 4000.
func sizeOf(chain []stages.Use) int64 {
	const perEntry, perBoundary, perStage, perCeiling = 4000, 700, 700, 1200
	size := int64(perEntry + perBoundary)
	for _, use := range chain {
		size += perBoundary + perStage
		if _, ok := use.Settings["ceiling_dbfs"]; ok {
			size += perCeiling
		}
	}
	return size
}
