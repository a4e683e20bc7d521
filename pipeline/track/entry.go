package track

import (
	"ledgerline/pipeline/ledger"
	"ledgerline/stages/meter"
)

// Entry is what the ledger is to record of the chain and of its readings, once the file
// has been read to its end. Headroom counts down from the release's ceiling, dBFS.
func (p *Pass) Entry(ceilingDBFS float64) *ledger.Track {
	t := &ledger.Track{Chain: p.chain}
	readings := make([]meter.Reading, len(p.meters))
	for k, m := range p.meters {
		if m == nil {
			t.Boundaries = append(t.Boundaries, ledger.Boundary{Boundary: k})
			continue
		}
		readings[k] = m.Reading()
		t.Boundaries = append(t.Boundaries, ledger.NewBoundary(k, p.boundaryName(k), readings[k], p.rates[k],
			ceilingDBFS))
	}
	t.AsWritten = p.asWritten(ceilingDBFS)
	last := len(p.meters) - 1
	t.Whole = ledger.NewWhole(t.Boundaries[0], t.Boundaries[last],
		meter.LoudnessChange(p.meters[0], p.meters[last]))
	short := p.shortAt(last)
	t.Whole.TruePeakBS1770DBTP, t.Whole.TruePeakSinc49DBTP = short.BS1770DBTP, short.Sinc49DBTP
	t.Whole.Cutting = p.wholeCutting()
	t.Whole.Audibility = p.audibility(p.toldWhole, figure{})
	for k, use := range p.chain {
		if p.brief != nil {
			p.briefly(t, ceilingDBFS, k, readings)
			continue
		}
		c := p.ceiling(ceilingDBFS, k, readings)
		before, after := t.Boundaries[k], t.Boundaries[k+1]
		louder := meter.LoudnessChange(p.meters[k], p.meters[k+1])
		t.Stages = append(t.Stages, ledger.NewStageResult(use.Name, use.Kind, before, after, louder, c))
		if p.told != nil {
			t.Stages[k].Audibility = p.audibility(p.told[k], p.aliased[k])
		}
		if use.Of().Reads {
			t.Requirements = append(t.Requirements, ledger.Judge(use, after, p.shortAt(k+1), c.Overs, t.Whole)...)
		}
	}
	return t
}

// boundaryName is the stage before boundary k.
func (p *Pass) boundaryName(k int) string {
	if k == 0 {
		return "source"
	}
	return p.chain[k-1].Name
}

// ceiling is how stage k kept its ceiling; of a measure, and of a dither without
// a ceiling that clamped at full scale, how the ceiling in force there was kept;
// of any other stage, nil.
func (p *Pass) ceiling(releaseDBFS float64, k int, readings []meter.Reading) *ledger.Ceiling {
	effect := p.effect(k)
	if _, ok := p.chain[k].Settings.CeilingDBFS(); !ok && !p.chain[k].Of().Reads && effect.Clamped == 0 {
		return nil
	}
	at := ceilingAt(k+1, p.chain, releaseDBFS)
	c := ledger.NewCeiling(at, readings[k+1], p.rates[k+1], effect, p.cutting(k, readings))
	if p.limits >= 0 && k >= p.limits {
		// Overs that were limited are no longer to be read.
		found := p.limited()
		c.AddLimited(found.samples, found.largest)
	}
	return c
}

// Source is the ledger's account of the file that was read.
func (p *Pass) Source(file, sha string) ledger.Source {
	return ledger.Source{
		File:      file,
		SHA256:    sha,
		Encoding:  string(p.info.Encoding),
		RateHz:    p.info.Rate,
		Channels:  p.info.Channels,
		Frames:    p.info.Frames,
		DurationS: ledger.Seconds(p.info.Frames, p.info.Rate),
	}
}
