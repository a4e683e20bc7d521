package survey

import (
	"context"

	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// standIn is a plain clamp in place of everything in a chain that cuts, at the lowest of the ceilings. It
// costs little, and is near enough to begin at. It is not ok where the setting does not show in it.
func (p *plan) standIn(chain []stages.Use) (clamped []stages.Use, ok bool) {
	clamp, ceiling := -1, 0.0
	for _, use := range chain {
		kind := use.Of()
		switch {
		case kind.Cuts:
			own, _ := use.Settings.CeilingDBFS()
			if clamp < 0 {
				clamp = len(clamped)
				clamped = append(clamped, stages.Use{})
			}
			ceiling = min(ceiling, own)
			ok = ok || use.Name == p.stage && p.key == "ceiling_dbfs"
		case kind.Multiplies != nil:
			clamped = append(clamped, use)
			ok = ok || use.Name == p.stage
		}
	}
	if clamp >= 0 {
		clamped[clamp] = stages.PlainClamp("clamp", ceiling)
	}
	return clamped, ok
}

// stand takes a track down the stand-in for its chain with the setting at a value.
func (w *work) stand(ctx context.Context, r *release.Render, value float64) (*Row, error) {
	chain, err := w.plan.chain(r, value)
	if err != nil {
		return nil, err
	}
	clamped, _ := w.plan.standIn(chain)
	entry, sha, err := w.once(ctx, passing{render: r, chain: clamped})
	if err != nil {
		return nil, err
	}
	return newRow(value, entry, sha, nil), nil
}
