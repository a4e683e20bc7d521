package listen

import (
	"context"
	"os"
	"path/filepath"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/coder"
	"ledgerline/pipeline/release"
)

// newCoded is a delivery as it comes back from a coder.
func newCoded(delivery *source, c *release.Coder) *source {
	s := &source{path: delivery.path, Source: delivery.Source, recorded: delivery.recorded, coder: c}
	s.Through = c.Name
	s.Name += " through " + c.Name
	return s
}

// code takes the delivery through the coder into a temporary file in a folder, and has that played.
func (s *source) code(ctx context.Context, bench *coder.Bench, folder string) error {
	if s.coder == nil || s.converted {
		return nil
	}
	path := filepath.Join(folder, random()+".wav")
	found, err := bench.Keep(ctx, s.path, *s.coder, path)
	if err != nil {
		return err
	}
	back, err := audiofile.Open(path)
	if err != nil {
		return err
	}
	_ = os.Remove(path) // where an open file may be; else Close of the room does
	_ = s.file.Close()
	s.file, s.converted, s.SHA256, s.next = back, true, found.SHA256, -1
	return nil
}
