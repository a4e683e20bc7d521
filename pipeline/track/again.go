package track

import (
	"fmt"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// Tries are the renders of one track until its holds keep what they promise.
type Tries struct {
	aims aims
	made int
	last bool   // the render in work is the last one, whatever it reads
	sha  string // of the mix that the first render read

	encoding audiofile.Encoding // of the output
}

// NewTries begins at the first aims of a chain whose output goes into an encoding.
func NewTries(chain []stages.Use, encoding audiofile.Encoding) *Tries {
	return &Tries{aims: newAims(chain, encoding), encoding: encoding}
}

// Beside has the holds among the first stages aim at least as low as another's at first: that of a chain that
// begins with the same stages, so that both can be one.
func (t *Tries) Beside(other *Tries, shared int) {
	for i := range t.aims {
		if a := &t.aims[i]; a.stage < shared {
			a.lowerDB = max(a.lowerDB, other.lowerDB(a.stage))
		}
	}
}

// Again says whether the track has been rendered already.
func (t *Tries) Again() bool { return t.made > 0 }

// lowerDB is how far below its ceiling stage k is to aim.
func (t *Tries) lowerDB(k int) float64 {
	if t == nil {
		return 0
	}
	return t.aims.lowerDB(k)
}

// Judge lowers the aims if a render did not keep what they promise, and reports whether it is to
// be made again. Otherwise it notes in the entry what they were lowered by. It fails if the
// mix is another than that of the render before.
func (t *Tries) Judge(entry *ledger.Track, sha string) (again bool, err error) {
	if t.made++; t.made == 1 {
		t.sha = sha
	} else if t.sha != sha {
		return false, fmt.Errorf("the mix was changed while it was being rendered again")
	}
	if !t.last {
		t.aims.read(entry)
		if t.made < MaxRenders && t.aims.lower() {
			return true, nil
		}
		t.last = true
		if t.aims.putBack() {
			return true, nil
		}
	}
	if by := t.aims.repeatedDB(); by > 0 {
		if entry.Whole == nil {
			entry.Whole = &ledger.Whole{}
		}
		entry.Whole.AimLoweredDB = by
	}
	return false, nil
}
