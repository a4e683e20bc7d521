package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// A mix is one track, driven.
type mix struct {
	name   string
	format stages.Format
	driven stages.Block
	beyond float64      // the part of its samples beyond the ceiling
	ideal  stages.Block // clipped at 64 times the rate
	power  float64      // of ideal, up to the edge
	coarse float64      // power, up to the edge, of what differs from ideal at 32 times the rate
	energy float64      // of driven
}

// load reads a mix and drives it.
func load(path string, drive, ceiling float64) (*mix, error) {
	r, err := audiofile.Open(path)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	info := r.Info()
	if info.Frames == 0 {
		return nil, fmt.Errorf("%s: no audio", path)
	}
	audio := stages.NewBlock(info.Channels, int(info.Frames))
	if _, err := r.Read(audio); err != nil && err != io.EOF {
		return nil, err
	}
	return newMix(filepath.Base(path), info.Rate, audio, drive, ceiling), nil
}

// newMix drives audio, which it keeps.
func newMix(name string, rate int, audio stages.Block, drive, ceiling float64) *mix {
	m := &mix{name: name, format: stages.Format{Rate: rate, Channels: len(audio)}, driven: audio}
	beyond := 0
	for _, x := range audio {
		for i := range x {
			x[i] *= stages.Linear(drive)
			m.energy += x[i] * x[i]
			if math.Abs(x[i]) > stages.Linear(ceiling) {
				beyond++
			}
		}
	}
	m.beyond = float64(beyond) / float64(len(audio)*audio.Frames())
	return m
}

func (m *mix) seconds() float64 { return float64(m.driven.Frames()) / float64(m.format.Rate) }

// reference makes the ideal of the mix, and finds out how good it is.
func (m *mix) reference(ceiling float64) {
	m.ideal = stages.NewBlock(len(m.driven), 0)
	edge := edgeOf(m.format.Rate)
	found := make([]struct{ power, coarse float64 }, len(m.ideal))
	each(len(m.ideal), func(c int) error {
		m.ideal[c] = newReference(referenceFactor, stages.Linear(ceiling), edge).clip(m.driven[c])
		coarse := newReference(referenceFactor/2, stages.Linear(ceiling), edge).clip(m.driven[c])
		found[c].power = power(m.ideal[c], edge)
		found[c].coarse = power(difference(coarse, m.ideal[c]), edge)
		return nil
	})
	for _, f := range found {
		m.power += f.power
		m.coarse += f.coarse
	}
}

// compared is what was found of one channel.
type compared struct {
	peak, true float64
	off        float64 // power of what differs from ideal, up to the edge
	removed    float64 // energy of what was taken from driven
}

// compare compares what came out of a chain, channel by channel.
func (m *mix) compare(out stages.Block) []compared {
	found := make([]compared, len(out))
	each(len(out), func(c int) error {
		f := compared{peak: largest(out[c]), true: truePeak(out[c])}
		f.off = power(difference(out[c], m.ideal[c]), edgeOf(m.format.Rate))
		for _, d := range difference(m.driven[c], out[c]) {
			f.removed += d * d
		}
		found[c] = f
		return nil
	})
	return found
}

// difference is a less b.
func difference(a, b []float64) []float64 {
	d := make([]float64, len(a))
	for i := range d {
		d[i] = a[i] - b[i]
	}
	return d
}
