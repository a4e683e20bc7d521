package whole

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
)

// A temporary file's name is prefix, sixteen hex digits and suffix. Names that
// say whose they are let a later run clean up without touching anyone else's
// hidden files. The file is locked as long as its process lives.
const (
	prefix = ".ledgerline-"
	suffix = ".part"
)

// newTemporary opens a temporary file in the folder of path, which the file is to replace.
func newTemporary(path string) (*os.File, error) {
	old, err := os.Lstat(path)
	if err == nil && old.IsDir() {
		return nil, errors.New("it is a folder")
	}
	replaces := err == nil && old.Mode().IsRegular()
	var f *os.File
	// A name may be taken, and a file may be cleaned away between its opening and its locking.
	for range 100 {
		f, err = openTemporary(filepath.Dir(path))
		if !errors.Is(err, fs.ErrExist) {
			break
		}
	}
	if err != nil {
		return nil, err
	}
	if replaces {
		if err := allow(f, old.Mode().Perm()); err != nil {
			remove(f)
			return nil, err
		}
	}
	return f, nil
}

// allow gives f the permissions that the user gave the file that is replaced.
// Some file systems have none to give, and there they are the same already.
func allow(f *os.File, mode fs.FileMode) error {
	if st, err := f.Stat(); err == nil && st.Mode().Perm() == mode {
		return nil
	}
	return f.Chmod(mode)
}

// openTemporary opens and locks a file of a new name, or fails with fs.ErrExist.
func openTemporary(folder string) (*os.File, error) {
	name := fmt.Sprintf("%s%016x%s", prefix, rand.Uint64(), suffix)
	f, err := os.OpenFile(filepath.Join(folder, name), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, err
	}
	if !lock(f) || !stillThere(f) {
		remove(f)
		return nil, fs.ErrExist
	}
	return f, nil
}

// stillThere says whether f's name still leads to f.
func stillThere(f *os.File) bool {
	open, err := f.Stat()
	if err != nil {
		return false
	}
	named, err := os.Lstat(f.Name())
	return err == nil && os.SameFile(open, named)
}

func isTemporary(name string) bool {
	name, ok := strings.CutPrefix(name, prefix)
	if !ok {
		return false
	}
	name, ok = strings.CutSuffix(name, suffix)
	return ok && len(name) == 16 && strings.Trim(name, "0123456789abcdef") == ""
}

// Clean removes the temporary files that dead processes left in a folder, and
// returns how many there were. Files still being written stay. A folder that
// does not exist is clean.
func Clean(folder string) (int, error) {
	list, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	n := 0
	var errs []error
	for _, e := range list {
		if !e.Type().IsRegular() || !isTemporary(e.Name()) {
			continue
		}
		removed, err := removeDead(filepath.Join(folder, e.Name()))
		if removed {
			n++
		}
		errs = append(errs, err)
	}
	return n, errors.Join(errs...)
}
