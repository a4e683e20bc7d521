package listen

import (
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/trial"
	"ledgerline/stages"
	"ledgerline/stages/meter"
	"ledgerline/stages/portable"
)

// A source is a file that is played at a gain.
type source struct {
	trial.Source                // as records have it
	path         string         // absolute
	was          *float64       // LUFS that the ledger has of it: a first guess; nil: none
	recorded     string         // its hash in the ledger; empty: it has none
	coder        *release.Coder // what comes back from it is heard; nil: the file is

	file      *audiofile.Reader
	converted bool  // file is a temporary one
	next      int64 // the frame that file is at
	lead      int64 // frames of file before the track's first
	gain      float64
	peak      float64 // the largest sample as it is played, linear
}

func newMix(r *release.Render, folder string) *source {
	return &source{
		path: r.Source, Source: trial.Source{Name: mixName, Is: trial.Mix, File: within(folder, r.Source)},
	}
}

// What a mix and the release's own chain are called.
const mixName, ownName = "mix", "own chain"

func newRender(r *release.Render, folder string) *source {
	s := &source{
		path: r.Output, Source: trial.Source{
			Name: r.Variant, Is: trial.Master, Variant: r.Variant, Delivery: r.Delivery,
			File: within(folder, r.Output),
		},
	}
	switch {
	case r.Delivery != "":
		s.Name, s.Is = r.Delivery, trial.Delivery
	case r.Variant == "":
		s.Name = ownName
		return s
	}
	if s.Name == mixName || s.Name == ownName {
		s.Name = "the " + s.Is + " " + s.Name
	}
	return s
}

// within is a path as records name it.
func within(folder, path string) string {
	if rel, err := filepath.Rel(folder, path); err == nil {
		path = rel
	}
	return filepath.ToSlash(path)
}

// batch is how many frames are read at once.
const batch = 16384

// read reads the whole file through at its gain: its hash, and the loudness and the peak of what would be
// played.
func (s *source) read(ctx context.Context) error {
	if err := s.file.SeekFrame(0); err != nil {
		return err
	}
	hashed := !s.converted // the hash of a file that was converted is known
	if hashed {
		if err := s.file.Hash(); err != nil {
			return err
		}
	}
	info := s.file.Info()
	m := meter.New(meter.Options{Rate: info.Rate, Weights: meter.Weights(info.Channels, info.Mask)})
	block := stages.NewBlock(info.Channels, batch)
	for {
		n, err := s.file.Read(block)
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		part := block.Slice(0, n)
		for _, x := range part {
			for i, v := range x {
				x[i] = float64(s.played(v))
			}
		}
		m.Write(part)
	}
	if hashed {
		sha, err := s.file.SHA256()
		if err != nil {
			return err
		}
		s.SHA256 = sha
	}
	reading := m.Reading()
	s.MatchedLUFS, s.peak = reading.Integrated, reading.SamplePeak
	s.LoudnessLUFS = s.MatchedLUFS - s.GainDB
	s.next = -1
	return nil
}

// played is a sample as it is played. What is not finite is silence.
func (s *source) played(v float64) float32 {
	f := float32(float64(v * s.gain))
	if f != f || math.IsInf(float64(f), 0) {
		return 0
	}
	return f
}

// turn sets the gain in dB: 0 or less.
func (s *source) turn(gainDB float64) {
	s.GainDB = min(0, math.Round(gainDB*1e4)/1e4)
	s.gain = portable.Exp10(s.GainDB / 20)
	if s.GainDB == 0 {
		s.gain = 1
	}
}

// at fills into, of the file's channels, with what is played from a frame of the track on; silence after the
// end.
func (s *source) at(frame int64, block stages.Block) error {
	info := s.file.Info()
	if s.next != frame {
		if err := s.file.SeekFrame(min(frame+s.lead, info.Frames)); err != nil {
			return err
		}
	}
	n, err := s.file.Read(block)
	if err != nil && err != io.EOF {
		return err
	}
	s.next = frame + int64(n)
	for _, x := range block {
		clear(x[n:])
	}
	return nil
}

// open opens the file.
func (s *source) open() (err error) {
	if s.file != nil {
		return nil
	}
	if s.file, err = audiofile.Open(s.path); err != nil {
		return err
	}
	s.next = -1
	if c := s.file.Info().Channels; c > 2 {
		return fmt.Errorf("%s has %d channels; only one or two can be played here", s.File, c)
	}
	return nil
}

// leave closes the file, if it is open.
func (s *source) leave() {
	if s.file != nil {
		_ = s.file.Close()
		s.file = nil
	}
}
