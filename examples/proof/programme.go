package main

import (
	"math"
	"time"

	"ledgerline/stages"
)

// programme is a release to be clipped.
type programme struct {
	drive, ceiling float64 // dB, dBFS
	mixes          []*mix
	seconds        float64 // of audio, all mixes together
}

// programmeRow is what a chain makes of all mixes.
type programmeRow struct {
	chain      chain
	over, true float64       // dB over the ceiling, the largest
	distance   float64       // dB, of what differs from ideal up to the edge; not known after a hold
	removed    float64       // dB, of what was taken from the driven mixes relative to them
	clamped    int64         // samples that the last clamp of a band-limited hold took
	clip, hold time.Duration // that the stages took, all mixes together
}

// doubt is about how far the ideal is from the band-limited clip itself, dB. The
// aliasing of a plain clip falls by 12 dB, to a quarter, with each doubling of the rate,
// so that the renders at 32 and 64 times it differ by three times what the second is off.
func (p *programme) doubt() float64 {
	var coarse, power float64
	for _, m := range p.mixes {
		coarse += m.coarse
		power += m.power
	}
	return powerDB(coarse / 9 / power)
}

// measure renders every chain. Renders are timed, so they run one at a time; what
// comes of them is measured in parallel.
func (p *programme) measure() ([]programmeRow, error) {
	for _, m := range p.mixes {
		m.reference(p.ceiling)
		p.seconds += m.seconds()
	}
	rows := make([]programmeRow, 0, len(factors)*len(holds))
	for _, c := range chains() {
		rows = append(rows, programmeRow{chain: c})
	}
	for factor := range factors {
		if err := p.measureClip(rows, factor); err != nil {
			return nil, err
		}
	}
	return rows, nil
}

// measureClip fills in the rows of one factor.
func (p *programme) measureClip(rows []programmeRow, factor int) error {
	clipped := make([]rendered, len(p.mixes))
	for i, m := range p.mixes {
		var err error
		if clipped[i], err = render(m.driven, m.format, p.ceiling, rows[factor].chain.clipStage); err != nil {
			return err
		}
	}
	for k := factor; k < len(rows); k += len(factors) {
		row, outs := &rows[k], make([]stages.Block, len(p.mixes))
		for i, m := range p.mixes {
			row.clip += clipped[i].spent
			outs[i] = clipped[i].out
			if row.chain.hold == "" {
				continue
			}
			held, err := render(clipped[i].out, m.format, p.ceiling, row.chain.holdStage)
			if err != nil {
				return err
			}
			outs[i] = held.out
			row.hold += held.spent
			row.clamped += held.clamped
		}
		p.figures(row, outs)
	}
	return nil
}

// rendered is what came out of a stage.
type rendered struct {
	out     stages.Block
	spent   time.Duration
	clamped int64
}

// takes is how often a stage renders a mix; the quickest counts.
const takes = 2

func render(in stages.Block, f stages.Format, ceiling float64, build func(stages.Format,
	float64) (stages.Stage, error)) (r rendered, err error) {
	r.spent = math.MaxInt64
	for range takes {
		s, err := build(f, ceiling)
		if err != nil {
			return r, err
		}
		out, spent := run(s, in)
		r = rendered{out, min(r.spent, spent), s.Effect().Clamped}
	}
	return r, nil
}

// figures compares what a chain has made of the mixes with what they were, and
// with what they should be.
func (p *programme) figures(row *programmeRow, outs []stages.Block) {
	var peak, between, off, power, removed, energy float64
	for i, m := range p.mixes {
		for _, f := range m.compare(outs[i]) {
			peak, between = max(peak, f.peak), max(between, f.true)
			off += f.off
			removed += f.removed
		}
		power += m.power
		energy += m.energy
	}
	level := stages.Linear(p.ceiling)
	row.over, row.true = stages.DB(peak/level), stages.DB(between/level)
	row.distance, row.removed = powerDB(off/power), powerDB(removed/energy)
}
