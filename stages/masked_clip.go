package stages

import (
	"fmt"

	"ledgerline/stages/ear"
)

// Rates in Hz between which there is a masked clip: below, the ear's upper bands are missing; above, it has
// no windows.
const (
	maskedLeastRate = 32000
	maskedMostRate  = 200000
)

var maskedClipKind = Kind{
	Name: "masked_clip",
	Doc:  "Takes peaks down by pulses with the spectrum of what the programme masks at that moment.",
	Keys: []Key{
		ceilingKey,
		{
			Name: "temper", Type: Number, Min: 0, Max: 1, Default: 0.6,
			Doc: "How far what is removed follows the mask, from 0, not at all, to 1.",
		},
		{
			Name: "guard_hz", Type: Number, Min: 20, Max: 1000, Default: 100.0, Unit: "Hz",
			Doc: "Below this frequency little is removed.",
		},
	},
	Cuts: true, MayPass: true, Apart: true, Hears: true, FarPercent: 8, LeastRateHz: maskedLeastRate,
	MostRateHz: maskedMostRate,
	Remarks:    unheldMasked,
	New: func(f Format, s Settings) (Stage, error) {
		if f.Rate < maskedLeastRate || f.Rate > maskedMostRate {
			return nil, fmt.Errorf("masked_clip works from %d to %d Hz, and not at %d Hz", maskedLeastRate,
				maskedMostRate, f.Rate)
		}
		ceiling, _ := s.Ceiling()
		level := f.LevelDBSPL
		if level == 0 {
			level = ear.LevelDBSPL
		}
		shared := newMaskedTools(f.Rate, level, s["temper"].(float64), s["guard_hz"].(float64))
		return newPerChannel(f.Channels, func() worker {
			m := newMasked(ceiling, shared)
			m.effect.ends = f.Ends
			return m
		}), nil
	},
}
