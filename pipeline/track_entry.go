package pipeline

import (
	"crypto/sha256"
	"encoding/binary"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// entry is the ledger entry of a render whose file has been read to its end.
func (p *pass) entry(rel *release.Release, r *release.Render) *ledger.Track {
	t := &ledger.Track{Name: r.Track, Variant: r.Variant, Recipe: recipe(rel, r), Chain: r.Chain}
	readings := make([]meter.Reading, len(p.meters))
	for k, m := range p.meters {
		readings[k] = m.Reading()
		name := "source"
		if k > 0 {
			name = p.chain[k-1].name
		}
		t.Boundaries = append(t.Boundaries, ledger.NewBoundary(k, name, readings[k], p.info.Rate, rel.CeilingDBFS))
	}
	for k, use := range r.Chain {
		c := p.ceiling(rel, r.Chain, k, readings)
		before, after := t.Boundaries[k], t.Boundaries[k+1]
		louder := meter.LoudnessChange(p.meters[k], p.meters[k+1])
		t.Stages = append(t.Stages, ledger.NewStageResult(use.Name, use.Kind, before, after, louder, c))
		if use.Kind == measureKind {
			t.Requirements = append(t.Requirements, ledger.Judge(use.Name, use.Settings, after, c.Overs)...)
		}
	}
	last := len(p.meters) - 1
	t.Whole = ledger.NewWhole(t.Boundaries[0], t.Boundaries[last], meter.LoudnessChange(p.meters[0], p.meters[last]))
	t.Whole.Cutting = p.whole.cutting()
	return t
}

// ceiling is how stage k kept its ceiling; of a measure, and of a dither without
// a ceiling that clamped at full scale, how the ceiling in force there was kept;
// of any other stage, nil.
func (p *pass) ceiling(rel *release.Release, chain []stages.Use, k int, readings []meter.Reading) *ledger.Ceiling {
	effect := p.chain[k].effect()
	if _, ok := chain[k].Settings.CeilingDBFS(); !ok && chain[k].Kind != measureKind && effect.Clamped == 0 {
		return nil
	}
	at := ceilingAt(k+1, chain, rel.CeilingDBFS)
	return ledger.NewCeiling(at, readings[k+1], p.info.Rate, effect, p.cutting(chain, k, readings))
}

// sourceOf is the ledger's account of the file that a render was made from.
func (p *pass) sourceOf(r *release.Render, sha string) ledger.Source {
	return ledger.Source{
		File:      r.SourceAsWritten,
		SHA256:    sha,
		Encoding:  string(p.info.Encoding),
		RateHz:    p.info.Rate,
		Channels:  p.info.Channels,
		Frames:    p.info.Frames,
		DurationS: ledger.Seconds(p.info.Frames, p.info.Rate),
	}
}

// trackSeed tells a track's noise from that of others. All variants of a track
// share it, so that what differs between them is not the noise.
func trackSeed(track string) uint64 {
	sum := sha256.Sum256([]byte(track))
	return binary.LittleEndian.Uint64(sum[:])
}
