//go:build !unix || solaris || illumos || aix

package whole

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// lock does nothing: where there are no locks that end with a process, an open file cannot be removed.
func lock(*os.File) bool { return true }

// publish brings the file to the disk and then to its place. An open file cannot be renamed.
func publish(f *os.File, path string) error {
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// remove closes and deletes the file: an open one cannot be deleted.
func remove(f *os.File) {
	f.Close()
	os.Remove(f.Name())
}

// runs would say whether there is a process of that number. Nobody knows, but its open file cannot be
// removed.
func runs(int) bool { return false }

// heldName is a file in a scratch folder that is open as long as its process lives: a folder cannot be.
const heldName = "held"

// hold opens what tells that a scratch folder is in use.
func hold(folder string) (*os.File, error) { return os.Create(filepath.Join(folder, heldName)) }

// removeDead removes a temporary file that no process has open, or a scratch folder in which none has.
func removeDead(path string, _ bool) (bool, error) {
	if err := os.Remove(filepath.Join(path, heldName)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	err := os.RemoveAll(path)
	return err == nil, err
}
