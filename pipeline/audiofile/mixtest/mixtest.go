// Package mixtest makes the mixes that tests render, in code.
package mixtest

import (
	"os"
	"path/filepath"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// batch is how many frames are made at once.
const batch = 1000

// Write writes info.Frames frames of a tune to a file, in a folder that need
// not exist yet: FLAC where its name ends so, and else WAV. The tune is the sample, -1..+1 being full scale,
// by channel and frame, both from 0.
func Write(path string, info audiofile.Info, tune func(channel int, frame int64) float64) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	beside := audiofile.Beside{}
	if filepath.Ext(path) == audiofile.FLAC.Extension() {
		beside.Container = audiofile.FLAC
	}
	w, err := audiofile.CreateWith(path, info, beside)
	if err != nil {
		return err
	}
	defer w.Abort()
	all := stages.NewBlock(info.Channels, batch)
	for at := int64(0); at < info.Frames; at += batch {
		b := all.Slice(0, int(min(batch, info.Frames-at)))
		for c := range b {
			for i := range b[c] {
				b[c][i] = tune(c, at+int64(i))
			}
		}
		if err := w.Write(b); err != nil {
			return err
		}
	}
	return w.Commit()
}
