package audiofile

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
)

// A temporary file's name is temporaryPrefix, sixteen hex digits and temporarySuffix. Names that
// say whose they are let a later run clean up without touching anyone
// else's hidden files.
const (
	temporaryPrefix = ".ledgerline-"
	temporarySuffix = ".part"
)

// temporary is a hidden file on its way to its place. It is locked as long as its process lives.
type temporary struct{ file *os.File }

// newTemporary opens a temporary file in the folder of path, which the file is to replace.
func newTemporary(path string) (*temporary, error) {
	mode := fs.FileMode(0o666)
	st, err := os.Lstat(path)
	switch {
	case err == nil && st.IsDir():
		return nil, errors.New("it is a folder")
	case err == nil && st.Mode().IsRegular():
		mode = st.Mode().Perm()
	}
	var t *temporary
	// A name may be taken, and a file may be cleaned away between its opening and its locking.
	for range 100 {
		t, err = openTemporary(filepath.Dir(path))
		if !errors.Is(err, fs.ErrExist) {
			break
		}
	}
	if err != nil {
		return nil, err
	}
	if mode != 0o666 { // keep what the user gave the file that is replaced
		if err := t.file.Chmod(mode); err != nil {
			t.remove()
			return nil, err
		}
	}
	return t, nil
}

// openTemporary opens and locks a file of a new name, or fails with fs.ErrExist.
func openTemporary(folder string) (*temporary, error) {
	name := fmt.Sprintf("%s%016x%s", temporaryPrefix, rand.Uint64(), temporarySuffix)
	f, err := os.OpenFile(filepath.Join(folder, name), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, err
	}
	t := &temporary{f}
	if !lock(f) || !stillThere(f) {
		t.remove()
		return nil, fs.ErrExist
	}
	return t, nil
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

// remove closes and deletes the file.
func (t *temporary) remove() {
	os.Remove(t.file.Name())
	t.file.Close()
}

func isTemporary(name string) bool {
	name, ok := strings.CutPrefix(name, temporaryPrefix)
	if !ok {
		return false
	}
	name, ok = strings.CutSuffix(name, temporarySuffix)
	return ok && len(name) == 16 && strings.Trim(name, "0123456789abcdef") == ""
}

// CleanTemporary removes the temporary files that writers of dead processes
// left in a folder, and returns how many there were. Files still being written stay. A
// folder that does not exist is clean.
func CleanTemporary(folder string) (int, error) {
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
