package pipeline

import (
	"context"
	"fmt"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// tries are the renders of one track until its holds keep what they promise.
type tries struct {
	aims aims
	made int
	last bool   // the render in work is the last one, whatever it reads
	sha  string // of the mix that the first render read
}

// render renders one render of the release, again with lower aims while a hold's promise is
// not kept and that may help, and is its ledger entry. What comes out depends on the mix and the
// chain alone. If it fails, the output folder is as it was.
func (e *engine) render(ctx context.Context, r *release.Render) (*ledger.Track, error) {
	t := &tries{aims: newAims(r.Chain, e.release.Output.Encoding)}
	for {
		entry, err := e.renderOnce(ctx, r, t)
		if entry != nil || err != nil {
			return entry, err
		}
	}
}

// begin tells that a render begins.
func (t *tries) begin(to Progress, r *release.Render, frames int64) {
	if t.made == 0 {
		to.TrackBegin(r, frames)
	} else {
		to.TrackAgain(r, frames)
	}
}

// judge lowers the aims if a render did not keep what they promise, and reports whether it is to
// be made again. Otherwise it notes in the entry what they were lowered by. It fails if the
// mix is another than that of the render before.
func (t *tries) judge(entry *ledger.Track, sha string) (again bool, err error) {
	if t.made++; t.made == 1 {
		t.sha = sha
	} else if t.sha != sha {
		return false, fmt.Errorf("the mix was changed while it was being rendered again")
	}
	if !t.last {
		t.aims.read(entry.Boundaries)
		if t.made < maxRenders && t.aims.lower() {
			return true, nil
		}
		t.last = true
		if t.aims.settle() {
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
