package track

import (
	"math"

	"ledgerline/pipeline/along"
	"ledgerline/stages"
	"ledgerline/stages/portable"
)

// Along is the record along the track of a render, once the file has been read to its end; nil where none was
// asked for.
func (p *Pass) Along(track, variant string) *along.Record {
	r := p.recorder
	if r == nil {
		return nil
	}
	r.segment(p.whole.meter.Open())
	a := &along.Record{
		Track: track, Variant: variant, RateHz: r.rate, Channels: p.info.Channels, Frames: r.frames,
		PeakIn: along.Levels{}, PeakOut: along.Levels{}, Momentary: along.Levels{}, Removed: along.Levels{},
		Clipped: []int64{},
		Near:    r.near.record(),
	}
	for _, c := range r.columns {
		a.PeakIn.Add(stages.DB(c.in))
		a.PeakOut.Add(stages.DB(c.out))
		a.Removed.Add(10 * portable.Log10(c.removed/c.driven))
		a.Clipped = append(a.Clipped, c.clipped)
	}
	r.momentary(a, p.meters[len(p.meters)-1].Momentary())
	var cuts []place
	for _, c := range p.whole.meter.Reading().Cuts {
		cuts = append(cuts, place{c.Frame, c.Channel})
	}
	a.Cuts = r.cuts.find(cuts)
	if r.moments != nil {
		p.alongHeard(a)
	}
	return a
}

// momentary puts the largest loudness of each column into a record. Those of 400 ms come every 100 ms.
func (r *recorder) momentary(a *along.Record, loudness []float64) {
	largest := make([]float64, len(r.columns))
	for i := range largest {
		largest[i] = math.NaN()
	}
	for k, l := range loudness {
		i := r.columnOf(int64(k)*10 + 39) // the last segment of the 400 ms
		if i < len(largest) && !(largest[i] >= l) {
			largest[i] = l
		}
	}
	before := math.NaN()
	for _, l := range largest {
		if math.IsNaN(l) {
			l = before
		}
		a.Momentary.Add(l)
		before = l
	}
}

// alongHeard puts what the listener heard into a record.
func (p *Pass) alongHeard(a *along.Record) {
	r, f := p.recorder, p.toldWhole
	for _, n := range r.noise {
		worst := math.Inf(-1)
		for c, sum := range n.sums {
			if sum > 0 {
				worst = max(worst, 10*portable.Log10(sum/float64(n.windows[c])))
			}
		}
		a.NoiseToMask.Add(worst)
	}
	reading, ok := f.by.reader.Reading(f.comparison)
	if !ok {
		return
	}
	var moments []place
	for _, m := range reading.Moments {
		moments = append(moments, place{m.Frame, m.Channel})
	}
	a.Moments = r.moments.find(moments)
	a.Spectrum = r.spectrum.record(f.by.reader)
}

// bandReader knows the bands of what it reads.
type bandReader interface {
	Bands() int
	Band(k int) (hz, fullScale float64)
}

// record is the mean spectrum, nil if nothing was changed.
func (s *spectrum) record(bands bandReader) *along.Spectrum {
	if s.windows == 0 {
		return nil
	}
	a := &along.Spectrum{Windows: s.windows}
	for k := range bands.Bands() {
		hz, full := bands.Band(k)
		full *= float64(s.windows)
		a.Hz = append(a.Hz, int(math.Round(hz)))
		a.Programme.Add(10 * portable.Log10(s.programme[k]/full))
		a.Mask.Add(10 * portable.Log10(s.mask[k]/full))
		a.Changed.Add(10 * portable.Log10(s.changed[k]/full))
	}
	return a
}
