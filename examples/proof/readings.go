package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// converterEdge is where the pass band of a usual converter of rates ends, of the rate (libsoxr, high
// quality: 20.1 kHz of 44.1).
const converterEdge = 20.1 / 44.1

// drives are how far the signals of the table of readings are driven, dB.
var drives = []float64{4, 9}

// readingChains are a clip between the samples and one at the track's rate, each with a band-limited hold.
var readingChains = []chain{{8, "band_limited"}, {1, "band_limited"}}

// A readingsRow is the true peak of what a chain makes of a signal, dB over the ceiling, as four meters read
// it: the Fourier interpolation, the filter of BS.1770, a sinc of 49 taps, and the Fourier interpolation of
// what a converter of rates would pass.
type readingsRow struct {
	signal string
	drive  float64
	chain  chain
	over   [4]float64
}

const noiseFrames = 2 * 44100

// noises are pink and white noise of two channels at 44.1 kHz, whose largest sample is full scale, driven
// like the mixes.
func noises(drive float64) (signals []*mix) {
	r := rand.New(rand.NewPCG(1, 1770))
	for _, noise := range []struct {
		name string
		next func() float64
	}{{"pink noise", pink(r)}, {"white noise", r.NormFloat64}} {
		b, top := stages.NewBlock(2, noiseFrames), 0.0
		for _, x := range b {
			for i := range x {
				x[i] = noise.next()
			}
			top = max(top, largest(x))
		}
		for _, x := range b {
			for i := range x {
				x[i] *= stages.Linear(drive) / top
			}
		}
		signals = append(signals, &mix{
			name: noise.name, format: stages.Format{Rate: 44100, Channels: 2}, driven: b,
		})
	}
	return signals
}

// pink is noise that falls by about 3 dB an octave: the sum of white noise under six low-passes, each two
// octaves below the one before and as powerful.
func pink(r *rand.Rand) func() float64 {
	var low [6]float64
	return func() (sum float64) {
		white := r.NormFloat64()
		for k := range low {
			low[k] += math.Pow(4, -float64(k)) * (white - low[k])
			sum += low[k] * math.Pow(2, float64(k))
		}
		return sum
	}
}

// readings measures every signal, drive and chain.
func (p *programme) readings() ([]readingsRow, error) {
	signals := append(append([]*mix(nil), p.mixes...), noises(p.drive)...)
	var rows []readingsRow
	for range signals {
		for _, drive := range drives {
			for _, c := range readingChains {
				rows = append(rows, readingsRow{drive: drive, chain: c})
			}
		}
	}
	return rows, each(len(rows), func(i int) error {
		return rows[i].measure(signals[i/(len(drives)*len(readingChains))], p.drive, p.ceiling)
	})
}

// measure drives the signal, which has been driven by had dB, takes it down the chain, and reads it.
func (r *readingsRow) measure(m *mix, had, ceiling float64) error {
	r.signal = m.name
	in := stages.NewBlock(len(m.driven), m.driven.Frames())
	for c, x := range m.driven {
		for i, v := range x {
			in[c][i] = v * stages.Linear(r.drive-had)
		}
	}
	clip, err := r.chain.clipStage(m.format, ceiling)
	if err != nil {
		return err
	}
	hold, err := r.chain.holdStage(m.format, ceiling)
	if err != nil {
		return err
	}
	out, _ := run(clip, in)
	out, _ = run(hold, out)
	short := []*meter.ShortMeter{meter.NewBS1770(len(out)), meter.NewSinc49(m.format.Rate, len(out))}
	var peaks [4]float64
	for i, s := range short {
		s.Write(out)
		peaks[1+i] = s.Peak()
	}
	for _, x := range out {
		peaks[0], peaks[3] = max(peaks[0], truePeak(x)), max(peaks[3], truePeakBelow(x, converterEdge))
	}
	for i, peak := range peaks {
		r.over[i] = stages.DB(peak / stages.Linear(ceiling))
	}
	return nil
}

const readingsHead = `
READINGS  driven into a ceiling of %g dBFS, then a clip, then a band-limited hold: true peak over the ceiling, dB

  fourier    by a 32-times Fourier interpolation
  bs1770     by the four-times filter of ITU-R BS.1770-5, Annex 2
  sinc49     by a four-times sinc of 49 taps under a Hann window
  converter  by the Fourier interpolation of what a converter of rates passes: flat up to 20.1/44.1 of the
             rate, nothing from half the rate on

signal                drive  clip                  fourier   bs1770   sinc49  converter
`

func printReadings(w io.Writer, ceiling float64, rows []readingsRow) {
	fmt.Fprintf(w, readingsHead, ceiling)
	for _, r := range rows {
		fmt.Fprintf(w, "%-20s%+7g  %-20s%+9.3f%+9.3f%+9.3f%+11.3f\n",
			r.signal, r.drive, r.chain.clipName(), r.over[0], r.over[1], r.over[2], r.over[3])
	}
}
