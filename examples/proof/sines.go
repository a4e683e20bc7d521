package main

import (
	"math"

	"ledgerline/stages"
)

const (
	sineRate   = 44100
	sineFrames = 2 * sineRate // whole cycles of every tone
	sineLead   = 4410         // before and after them, where the sine begins and ends
)

var sineFormat = stages.Format{Rate: sineRate, Channels: 1}

// sineCeiling clips a unit sine at half its amplitude, dBFS.
var sineCeiling = stages.DB(0.5)

// tones are the fundamentals, Hz. The low one has many harmonics below half the rate; the
// others, about one and two octaves higher, have few.
var tones = [3]float64{1244.5, 4978, 9956}

var phases = [3]float64{0.1, 1.1, 2.3} // at the first frame, radians

// sineRow is what a chain makes of each tone.
type sineRow struct {
	chain chain
	tones [len(tones)]sineFigures
}

type sineFigures struct {
	alias float64 // dB, mean of the phases
	over  float64 // dB, the sample peak over the ceiling, largest of the phases
	true  float64 // dB, the true peak over the ceiling, largest of the phases
}

// sine is a unit sine: whole cycles and their lead.
func sine(hz, phase float64) []float64 {
	x := make([]float64, sineFrames+2*sineLead)
	for n := range x {
		x[n] = math.Sin(2*math.Pi*math.Mod(hz*float64(n)/sineRate, 1) + phase)
	}
	return x
}

// whole is the whole cycles of a rendered sine.
func whole(x []float64) []float64 { return x[sineLead : sineLead+sineFrames] }

// cycles is how many there are.
func cycles(hz float64) int { return int(math.Round(hz * sineFrames / sineRate)) }

// measureSines renders every chain over every tone at every phase.
func measureSines() ([]sineRow, error) {
	var rows []sineRow
	for _, c := range chains() {
		row := sineRow{chain: c}
		for i := range row.tones {
			row.tones[i].over, row.tones[i].true = math.Inf(-1), math.Inf(-1)
		}
		rows = append(rows, row)
	}
	err := each(len(factors)*len(tones), func(i int) error {
		return measureTone(rows, i%len(factors), i/len(factors))
	})
	return rows, err
}

// measureTone fills in the figures of one tone in the rows of one factor.
func measureTone(rows []sineRow, factor, tone int) error {
	b := newBetween(sineFrames)
	for _, phase := range phases {
		clip, err := rows[factor].chain.clipStage(sineFormat, sineCeiling)
		if err != nil {
			return err
		}
		clipped, _ := run(clip, stages.Block{sine(tones[tone], phase)})
		for i := factor; i < len(rows); i += len(factors) {
			out := clipped
			if rows[i].chain.hold != "" {
				hold, err := rows[i].chain.holdStage(sineFormat, sineCeiling)
				if err != nil {
					return err
				}
				out, _ = run(hold, clipped)
			}
			rows[i].tones[tone].add(whole(out[0]), tones[tone], b)
		}
	}
	return nil
}

// add adds what came out at one of the phases.
func (f *sineFigures) add(x []float64, hz float64, b *between) {
	level := stages.Linear(sineCeiling)
	f.alias += aliasSNR(x, cycles(hz), edgeOf(sineRate)) / float64(len(phases))
	f.over = max(f.over, stages.DB(largest(x)/level))
	f.true = max(f.true, stages.DB(b.peak(x, 0, len(x))/level))
}
