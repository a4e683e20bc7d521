package pipeline

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// committing is files that tell a function of each file before it is put in its place.
func committing(before func(path string) error) files {
	return files{
		open: onDisk.open,
		create: func(path string, info audiofile.Info, beside audiofile.Beside) (track.Sink, error) {
			s, err := onDisk.create(path, info, beside)
			if err != nil {
				return nil, err
			}
			return faultySink{s, faulty{done: func() error { return before(path) }}}, nil
		},
	}
}

// The master is put in its place after the file of what was removed: until then the entry in
// the ledger is true, and a removed file that cannot be written leaves the old master.
func TestTheMasterIsPutInItsPlaceLast(t *testing.T) {
	d := calmDesk(t)
	d.edit(`encoding = "pcm24"`, "encoding = \"pcm24\"\nremoved = true")
	var order []string
	d.files = committing(func(path string) error {
		name, err := filepath.Rel(d.path("masters"), path)
		order = append(order, filepath.ToSlash(name))
		return err
	})
	d.render(Options{Tracks: []string{"01 quay"}, Jobs: 1})
	if want := []string{"removed/01 quay.wav", "01 quay.wav"}; !slices.Equal(order, want) {
		t.Errorf("put in place: %q, want %q", order, want)
	}

	old := d.read("masters/01 quay.wav")
	d.edit("gain_db = 4.0", "gain_db = 5.0")
	d.files = committing(func(path string) error {
		if strings.Contains(path, release.RemovedFolder) {
			return &os.PathError{Op: "write", Path: path, Err: syscall.ENOSPC}
		}
		return nil
	})
	out, err := d.try(t.Context(), Options{Tracks: []string{"01 quay"}})
	d.must(err)
	if out.Failed() != 1 || d.read("masters/01 quay.wav") != old {
		t.Errorf("%d failed, want one, with the master as it was", out.Failed())
	}
}
