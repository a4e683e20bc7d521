package listen

import (
	"context"
	"io"
	"os"
	"path/filepath"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// convert has a source be played at a rate, beside others that have it: where its file has another, or is one
// whose frames are not found at once, it is converted into a temporary one in a folder, and that is played.
func (s *source) convert(ctx context.Context, rate int, folder string) error {
	if s.file.Info().Rate == rate && (s.converted || !s.file.Coded()) {
		return nil
	}
	if err := s.file.Hash(); err != nil {
		return err
	}
	info := s.file.Info()
	path := filepath.Join(folder, random()+".wav")
	out := audiofile.Info{
		Rate: rate, Channels: info.Channels, Frames: stages.FramesAt(info.Frames, info.Rate, rate),
		Encoding: audiofile.Float32, Mask: info.Mask,
	}
	if info.Rate == rate && info.Encoding == audiofile.PCM32 { // float32 holds the others bit for bit
		out.Encoding = info.Encoding
	}
	if err := s.convertTo(ctx, path, out); err != nil {
		return err
	}
	sha, err := s.SHA256, error(nil)
	if !s.converted { // else it is a temporary file already, and the hash is known
		if sha, err = s.file.SHA256(); err != nil {
			return err
		}
	}
	converted, err := audiofile.Open(path)
	if err != nil {
		return err
	}
	_ = os.Remove(path) // where an open file may be; else Close of the room does
	_ = s.file.Close()
	s.file, s.converted, s.SHA256, s.next = converted, true, sha, -1
	if info.Rate != rate {
		s.FileHz, s.lead = info.Rate, stages.FramesAt(s.lead, info.Rate, rate)
	}
	return nil
}

// convertTo writes what the rate changer of chains makes of the file.
func (s *source) convertTo(ctx context.Context, path string, out audiofile.Info) error {
	info := s.file.Info()
	stage, err := stages.Build("resample", stages.Format{Rate: info.Rate, Channels: info.Channels},
		stages.Settings{"rate_hz": int64(out.Rate)})
	if err != nil {
		return err
	}
	w, err := audiofile.Create(path, out)
	if err != nil {
		return err
	}
	defer w.Abort()
	in, done := stages.NewBlock(info.Channels, batch), stages.NewBlock(info.Channels, 0)
	for {
		n, err := s.file.Read(in)
		if err != nil && err != io.EOF {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		done = stage.Process(done.Empty(), in.Slice(0, n))
		if err == io.EOF {
			done = stage.Flush(done)
		}
		if e := w.Write(done); e != nil {
			return e
		}
		if err == io.EOF {
			return w.Commit()
		}
	}
}
