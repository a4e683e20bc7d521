package ledger

import (
	"fmt"
	"strconv"

	"ledgerline/stages/ear"
)

// Audibility is what one stage or the whole chain did to the driven input, held against what that masks,
// after the FFT ear model of BS.1387-1. Each figure is that of its own worst channel.
type Audibility struct {
	LevelDBSPL float64 `json:"level_db_spl"` // playback level of a sine at full scale
	// mean over the track and the bands; null: nothing was done
	NoiseToMaskDB *float64 `json:"noise_to_mask_db"`
	// windows of about 46 ms in which a band is 1.5 dB or more over the mask
	DisturbedPercent float64    `json:"disturbed_percent"`
	Worst15s         *Disturbed `json:"worst_15s,omitempty"` // missing: nothing was done
	// at most ten, furthest over the mask first, no two within 1 s
	Moments []Moment `json:"moments,omitempty"`
	// Of a hard_clip and an oversampled_clip, if [audibility] asks for it: its difference from the band-limited
	// clip against what that masks.
	// missing: not asked for, or no difference
	AliasingToMaskDB         *float64 `json:"aliasing_to_mask_db,omitempty"`
	AliasingDisturbedPercent *float64 `json:"aliasing_disturbed_percent,omitempty"`
}

// Disturbed is the worst of any 15 s on end, of a shorter track the whole of it. The two figures may be of
// different stretches.
type Disturbed struct {
	// where the most disturbed stretch begins; where nothing is disturbed, that with the most noise
	TimeS            float64  `json:"time_s"`
	NoiseToMaskDB    *float64 `json:"noise_to_mask_db"`
	DisturbedPercent float64  `json:"disturbed_percent"`
}

// Moment is where noise comes far over the mask.
type Moment struct {
	TimeS      float64 `json:"time_s"`  // of the sample that was changed most in that window
	Channel    int     `json:"channel"` // from 1
	FromHz     float64 `json:"from_hz"` // the band
	ToHz       float64 `json:"to_hz"`
	OverMaskDB float64 `json:"over_mask_db"`
}

const hertzSteps = 10

// NewAudibility is the record of a reading. The rate is that of its frames, in Hz.
func NewAudibility(r ear.Reading, rate int, levelDBSPL float64) *Audibility {
	a := &Audibility{
		LevelDBSPL:       round(levelDBSPL, levelSteps),
		NoiseToMaskDB:    Level(r.NoiseToMask.Value),
		DisturbedPercent: round(r.Disturbed.Value, levelSteps),
	}
	if a.NoiseToMaskDB == nil && a.DisturbedPercent == 0 {
		return a
	}
	worst := r.WorstDisturbed
	if worst.Value == 0 {
		worst = r.WorstNoise
	}
	a.Worst15s = &Disturbed{
		TimeS:            Seconds(worst.Frame, rate),
		NoiseToMaskDB:    Level(r.WorstNoise.Value),
		DisturbedPercent: round(r.WorstDisturbed.Value, levelSteps),
	}
	for _, m := range r.Moments {
		over := Level(m.OverMask)
		if over == nil || *over == 0 {
			continue
		}
		a.Moments = append(a.Moments, Moment{
			TimeS: Seconds(m.Frame, rate), Channel: m.Channel + 1,
			FromHz: round(m.Band.From, hertzSteps), ToHz: round(m.Band.To, hertzSteps), OverMaskDB: *over,
		})
	}
	return a
}

// Aliased adds the reading of a clip against the band-limited one.
func (a *Audibility) Aliased(r ear.Reading) {
	disturbed := round(r.Disturbed.Value, levelSteps)
	a.AliasingToMaskDB, a.AliasingDisturbedPercent = Level(r.NoiseToMask.Value), &disturbed
}

// heard is the whole chain's, nil where it was not measured.
func (t *Track) heard() *Audibility {
	if t.Whole == nil {
		return nil
	}
	return t.Whole.Audibility
}

func (a *Audibility) noiseToMask() *float64 {
	if a == nil {
		return nil
	}
	return a.NoiseToMaskDB
}

func (a *Audibility) disturbed() *float64 {
	if a == nil {
		return nil
	}
	return &a.DisturbedPercent
}

// From these on, which are ours and no standard's, a track is worth a second listening.
const (
	notedPercent = 5
	notedDB      = -10
)

// String tells the figures in words, and the worst moment.
func (a *Audibility) String() string {
	if a.NoiseToMaskDB == nil {
		return "noise to mask: none, nothing was removed"
	}
	text := fmt.Sprintf("noise to mask %s dB, %s %% disturbed", tenth(*a.NoiseToMaskDB),
		tenth(a.DisturbedPercent))
	if len(a.Moments) > 0 {
		m := a.Moments[0]
		text += fmt.Sprintf("; worst at %s s, channel %d, %s, %s dB over the mask",
			fixed(m.TimeS), m.Channel, span(m.FromHz, m.ToHz), tenth(m.OverMaskDB))
	}
	return text
}

// noted says whether the figures are worth a note.
func (a *Audibility) noted() bool {
	return a.DisturbedPercent > notedPercent || a.NoiseToMaskDB != nil && *a.NoiseToMaskDB > notedDB
}

// heard adds what is to be said of the audibility under a track's table.
func (g *page) heard(t *Track) {
	a := t.heard()
	if a == nil {
		return
	}
	g.line(2, plain, a.String())
	if a.noted() {
		g.line(2, notice, fmt.Sprintf("note: more than %d %% disturbed or %d dB of noise to mask (limits of our "+
			"own): listen to its worst moments", notedPercent, notedDB))
	}
}

// span is a band in words.
func span(from, to float64) string {
	if to < 1000 {
		return fmt.Sprintf("%.0f to %.0f Hz", from, to)
	}
	return tenth(from/1000) + " to " + tenth(to/1000) + " kHz"
}

// tenth is a figure to one decimal.
func tenth(x float64) string { return strconv.FormatFloat(round(x, 10), 'f', 1, 64) }
