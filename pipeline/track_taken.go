package pipeline

import (
	"path/filepath"

	"ledgerline/stages"
)

// takenFolder is the folder, within that of the output, of what was removed.
const takenFolder = "removed"

// taken writes what a chain took away: what it was fed, at equal gain, minus
// what it handed on. Equal gain is that of the chain's own gain stages, so that
// a chain of nothing else leaves exact silence. Both are taken from the signal
// itself, before the output's encoding.
type taken struct {
	to     sink
	gainDB float64      // that of the gain stages together
	gains  []float64    // one by one, in the chain's order: as the chain rounds, so does this
	held   stages.Block // fed to the chain, at equal gain, and not handed on yet
	diff   stages.Block
}

func newTaken(chain []StageUse, channels int, to sink) *taken {
	t := &taken{to: to, held: stages.NewBlock(channels, 0), diff: stages.NewBlock(channels, 0)}
	for _, use := range chain {
		if db, ok := use.Settings["gain_db"].(float64); ok {
			t.gains = append(t.gains, stages.Linear(db))
			t.gainDB += db
		}
	}
	return t
}

// write takes what the chain was fed and what it handed on because of it. The
// chain holds frames back, so what it was fed waits here for its turn.
func (t *taken) write(in, out stages.Block) error {
	at := t.held.Frames()
	t.held = t.held.Append(in)
	n := out.Frames()
	t.diff = withFrames(t.diff, n)
	for c, held := range t.held {
		for _, g := range t.gains {
			scale(held[at:], g)
		}
		for i, y := range out[c] {
			t.diff[c][i] = held[i] - y
		}
		t.held[c] = held[:copy(held, held[n:])]
	}
	return t.to.Write(t.diff)
}

func scale(x []float64, by float64) {
	for i := range x {
		x[i] *= by
	}
}

// beside is the path of a file that goes with a render's output, in a folder
// of its own there.
func (r *Render) beside(folder string) string {
	return filepath.Join(filepath.Dir(r.Output), folder, filepath.Base(r.Output))
}

// wantsTaken says whether what the chains took away is to be written.
func (e *engine) wantsTaken() bool { return e.options.Removed || e.release.Output.Removed }
