package pipeline

import "ledgerline/stages"

// pairs lines up what a stretch of the chain was fed with what it handed on. Stages
// hold frames back, so what was fed waits here for its turn.
type pairs struct {
	gains []float64    // of the stretch's gain stages, one by one: as the chain rounds, so does this
	held  stages.Block // fed, at equal gain
	spent int          // frames of held that have had their turn
	turn  stages.Block // those frames
}

// newPairs lines up the stretch of a chain between two boundaries.
func newPairs(stretch []StageUse, channels int) pairs {
	p := pairs{held: stages.NewBlock(channels, 0), turn: make(stages.Block, channels)}
	for _, use := range stretch {
		if db, ok := use.Settings["gain_db"].(float64); ok {
			p.gains = append(p.gains, stages.Linear(db))
		}
	}
	return p
}

// driven takes what the stretch was fed and how many frames it handed on because of
// it, and returns the driven input that these were made from. It is valid until the
// next call, and may be in itself.
func (p *pairs) driven(in stages.Block, frames int) stages.Block {
	waiting := p.held.Frames() - p.spent
	if waiting == 0 && frames == in.Frames() && len(p.gains) == 0 {
		return in
	}
	for c, held := range p.held {
		held = append(held[:copy(held, held[p.spent:])], in[c]...)
		for _, g := range p.gains {
			scale(held[waiting:], g)
		}
		p.held[c], p.turn[c] = held, held[:frames]
	}
	p.spent = frames
	return p.turn
}

func scale(x []float64, by float64) {
	for i := range x {
		x[i] *= by
	}
}
