package main

import (
	"math"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// write quantises the mix to 24 bits with triangular dither and writes it.
func write(path string, mix bus, random noise) error {
	const full = 1 << 23
	for i := range mix[0] {
		for c := range mix {
			dither := float64((random.next() + random.next()) / 2)
			code := math.Floor(float64(full*mix[c][i]) + dither + 0.5)
			mix[c][i] = min(max(code, -full), full-1) / full
		}
	}
	w, err := audiofile.Create(path, audiofile.Info{
		Rate: rate, Channels: 2, Frames: int64(len(mix[0])), Encoding: audiofile.PCM24,
	})
	if err != nil {
		return err
	}
	defer w.Abort()
	if err := w.Write(stages.Block(mix)); err != nil {
		return err
	}
	return w.Commit()
}
