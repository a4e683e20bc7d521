package track

import "ledgerline/stages"

// Removed writes what a chain took away: what it was fed, at equal gain, minus
// what it handed on. Equal gain is that of the chain's own gain stages, so that
// a chain of nothing else leaves exact silence. Both are taken from the signal
// itself, before the output's encoding.
type Removed struct {
	To     Sink
	GainDB float64 // that of the gain stages together
	diff   stages.Block
}

// NewRemoved writes what a chain takes away to a file.
func NewRemoved(chain []stages.Use, channels int, to Sink) *Removed {
	t := &Removed{To: to, diff: stages.NewBlock(channels, 0)}
	for _, use := range chain {
		f, _ := use.Factor()
		t.GainDB += f.DB
	}
	return t
}

// write takes what the chain was fed, at equal gain, and what it made of it.
func (t *Removed) write(driven, out stages.Block) error {
	t.diff = withFrames(t.diff, out.Frames())
	for c, x := range driven {
		for i, y := range out[c] {
			t.diff[c][i] = x[i] - y
		}
	}
	return t.To.Write(t.diff)
}
