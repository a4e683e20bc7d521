// Song writes a long track of stereo music at 44.1 kHz and 24 bits, to measure on:
//
//	go run ./testdata/peer/song OUT.wav SECONDS [GAIN_DB]
//
// Run it in the folder of go.mod. The track is the mixes of the example release, one after
// the other, in an order that is shuffled again each time around. Each comes at each of
// four levels before any comes again, so that a long track is as hard for a chain, second
// by second, as a short one. It peaks at -1 dBFS, or so many dB above that, 0 at most. The same arguments
// give the same bytes.
package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

const mixes = "examples/night-ferry/mixes/*.wav"

// levels are the peaks of the passages, dBFS.
var levels = []float64{-1, -2, -3.5, -6}

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "song: error:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 2 && len(args) != 3 {
		return fmt.Errorf("%d arguments, want OUT.wav SECONDS [GAIN_DB]", len(args))
	}
	gainDB := 0.0
	if len(args) == 3 {
		var err error
		if gainDB, err = strconv.ParseFloat(args[2], 64); err != nil || !(gainDB >= -60 && gainDB <= 0) {
			return fmt.Errorf("gain %q, want dB, -60 to 0", args[2])
		}
	}
	seconds, err := strconv.Atoi(args[1])
	if err != nil || seconds < 1 || seconds > 24*3600 {
		return fmt.Errorf("length %q, want whole seconds, 1 to %d", args[1], 24*3600)
	}
	passages, info, err := readPassages(gainDB)
	if err != nil {
		return err
	}
	info.Frames = int64(seconds) * int64(info.Rate)
	return write(args[0], info, passages)
}

// readPassages is every mix at every level, with a gain, and the kind of file they come in.
func readPassages(gainDB float64) (passages []stages.Block, info audiofile.Info, err error) {
	paths, err := filepath.Glob(mixes)
	if err != nil || len(paths) == 0 {
		return nil, info, fmt.Errorf("no %s: run this where go.mod lies", mixes)
	}
	for _, path := range paths {
		var mix stages.Block
		if mix, info, err = read(path); err != nil {
			return nil, info, err
		}
		for _, level := range levels {
			passages = append(passages, atLevel(mix, level+gainDB))
		}
	}
	return passages, info, nil
}

func read(path string) (stages.Block, audiofile.Info, error) {
	r, err := audiofile.Open(path)
	if err != nil {
		return nil, audiofile.Info{}, err
	}
	defer r.Close()
	mix := stages.NewBlock(r.Info().Channels, int(r.Info().Frames))
	if _, err := r.Read(mix); err != nil && !errors.Is(err, io.EOF) {
		return nil, audiofile.Info{}, err
	}
	return mix, r.Info(), nil
}

// atLevel is the mix with its peak at a level, dBFS.
func atLevel(mix stages.Block, level float64) stages.Block {
	peak := 0.0
	for c := range mix {
		for _, v := range mix[c] {
			peak = max(peak, math.Abs(v))
		}
	}
	gain := stages.Linear(level) / peak
	out := stages.NewBlock(len(mix), mix.Frames())
	for c := range mix {
		for i, v := range mix[c] {
			out[c][i] = gain * v
		}
	}
	return out
}

func write(path string, info audiofile.Info, passages []stages.Block) error {
	w, err := audiofile.Create(path, info)
	if err != nil {
		return err
	}
	defer w.Abort()
	random := rand.New(rand.NewPCG(1, 2))
	for left := int(info.Frames); left > 0; {
		for _, n := range random.Perm(len(passages)) {
			p := passages[n]
			k := min(left, p.Frames())
			if err := w.Write(p.Slice(0, k)); err != nil {
				return err
			}
			left -= k
		}
	}
	return w.Commit()
}
