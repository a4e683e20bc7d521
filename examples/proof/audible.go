package main

import (
	"fmt"
	"io"

	"ledgerline/stages"
	"ledgerline/stages/ear"
)

// cleanFactor is that of the clip that the others are compared with, as a release file's [audibility] has it.
const cleanFactor = 16

// aliasing are the clips whose aliasing is held against the mask.
var aliasing = []chain{{factor: 1}, {factor: 2}, {factor: 4}, {factor: 8}}

// An audibleRow is what aliases in each clip of a signal, against what the clean clip masks.
type audibleRow struct {
	signal string
	clips  []overMask
}

// overMask is the difference from the clean clip as a waveform, after ITU-R BS.1387-1: dB of noise to mask,
// and percent of the windows that have a band 1.5 dB or more above it. Of the channels each figure is the
// worse one's.
type overMask struct{ toMask, disturbed float64 }

// audibility measures the mixes, and the tones as they are clipped in the first table.
func (p *programme) audibility() ([]audibleRow, error) {
	rows := make([]audibleRow, len(p.mixes)+len(tones))
	return rows, each(len(rows), func(i int) (err error) {
		if i < len(p.mixes) {
			m := p.mixes[i]
			rows[i], err = heard(m.name, m.format, m.driven, p.ceiling)
			return err
		}
		hz := tones[i-len(p.mixes)]
		rows[i], err = heard(fmt.Sprintf("%g Hz", hz), sineFormat, stages.Block{sine(hz, phases[0])}, sineCeiling)
		return err
	})
}

// heard clips a signal.
func heard(name string, f stages.Format, in stages.Block, ceiling float64) (audibleRow, error) {
	row := audibleRow{signal: name}
	signals := make([][][]float64, 0, 1+len(aliasing))
	comparisons := make([]ear.Comparison, 0, len(aliasing))
	for i, c := range append([]chain{{factor: cleanFactor}}, aliasing...) {
		clip, err := c.clipStage(f, ceiling)
		if err != nil {
			return row, err
		}
		out, _ := run(clip, in)
		signals = append(signals, out)
		if i > 0 {
			comparisons = append(comparisons, ear.Comparison{Before: 0, After: i, Waveform: true})
		}
	}
	r := ear.NewReader(ear.Options{Rate: f.Rate, Channels: f.Channels, Comparisons: comparisons})
	r.Write(signals...)
	r.End()
	for i := range comparisons {
		reading, ok := r.Reading(i)
		if !ok {
			return row, fmt.Errorf("%s: nothing to hear", name)
		}
		row.clips = append(row.clips, overMask{reading.NoiseToMask.Value, reading.Disturbed.Value})
	}
	return row, nil
}

const audibleHead = `
AUDIBILITY  what aliases in a clip, after ITU-R BS.1387-1 at 92 dB SPL for a sine at full scale

  mask  noise to mask, dB: the difference from oversampled_clip %d, as a waveform, against what that clip masks
  dist  windows disturbed by it, percent

  The mixes are driven as above, the tones clipped at half their amplitude. No hold.

`

func printAudible(w io.Writer, rows []audibleRow) {
	fmt.Fprintf(w, audibleHead, cleanFactor)
	fmt.Fprintf(w, "%-18s", "")
	for _, c := range aliasing {
		fmt.Fprintf(w, "  %18s", c.clipName())
	}
	fmt.Fprintf(w, "\n%-18s", "signal")
	for range aliasing {
		fmt.Fprintf(w, "  %10s%8s", "mask", "dist")
	}
	fmt.Fprintln(w)
	for _, r := range rows {
		fmt.Fprintf(w, "%-18s", r.signal)
		for _, a := range r.clips {
			fmt.Fprintf(w, "  %+10.1f%8.1f", a.toMask, a.disturbed)
		}
		fmt.Fprintln(w)
	}
}
