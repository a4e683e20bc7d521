package track

import "ledgerline/stages"

// driven lines up what a stretch of the chain was fed with what it handed on. Stages
// hold frames back, so what was fed waits here for its turn.
type driven struct {
	gains []float64    // of the stretch's stages that multiply, one by one: as the chain rounds, so does this
	held  stages.Block // fed, at equal gain
	spent int          // frames of held that have had their turn
	turn  stages.Block // those frames
}

// newDriven lines up the stretch of a chain between two boundaries.
func newDriven(stretch []stages.Use, channels int) driven {
	d := driven{held: stages.NewBlock(channels, 0), turn: make(stages.Block, channels)}
	for _, use := range stretch {
		if f, ok := use.Factor(); ok {
			d.gains = append(d.gains, f.By)
		}
	}
	return d
}

// input takes what the stretch was fed and how many frames it handed on because of
// it, and returns the driven input that these were made from. It is valid until the
// next call, and may be in itself.
func (d *driven) input(in stages.Block, frames int) stages.Block {
	waiting := d.waiting()
	if waiting == 0 && frames == in.Frames() && len(d.gains) == 0 {
		return in
	}
	from := d.spent
	if from >= waiting {
		from = 0 // what waits moves to the start only when it is little, so that no frame is moved often
	}
	for c, held := range d.held {
		if from == 0 {
			held = held[:copy(held, held[d.spent:])]
		}
		held = append(held, in[c]...)
		for _, g := range d.gains {
			scale(held[from+waiting:], g)
		}
		d.held[c], d.turn[c] = held, held[from:from+frames]
	}
	d.spent = from + frames
	return d.turn
}

// waiting is how many frames wait for their turn.
func (d *driven) waiting() int { return d.held.Frames() - d.spent }

func scale(x []float64, by float64) {
	for i := range x {
		x[i] *= by
	}
}
