package release

import (
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Name is the name of a release file where nobody gave it another.
const Name = "release.toml"

// starter is a release file to start from.
//
//go:embed starter.toml
var starter []byte

// Start makes a folder ready for a release: a release file that renders as it is,
// and the folder "mixes" that it looks for WAV files in. Both folders are made
// where there are none. A release file that is there already is an error, for
// which errors.Is(err, fs.ErrExist), and is left as it is.
func Start(folder string) error {
	if info, err := os.Stat(folder); err == nil && !info.IsDir() {
		return fmt.Errorf("%q is a file; want a folder", folder)
	}
	if _, err := os.Lstat(filepath.Join(folder, Name)); err == nil {
		return existing(folder)
	}
	if err := os.MkdirAll(filepath.Join(folder, "mixes"), 0o777); err != nil {
		return fmt.Errorf("making the folder of the mixes: %w", err)
	}
	path := filepath.Join(folder, Name)
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	switch {
	case errors.Is(err, fs.ErrExist):
		return existing(folder)
	case err != nil:
		return fmt.Errorf("writing a release file: %w", err)
	}
	_, err = f.Write(starter)
	if err = errors.Join(err, f.Close()); err != nil {
		return errors.Join(fmt.Errorf("writing a release file: %w", err), os.Remove(path))
	}
	return nil
}

func existing(folder string) error {
	return &fs.PathError{Op: "new", Path: filepath.Join(folder, Name), Err: fs.ErrExist}
}
