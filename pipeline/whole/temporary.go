package whole

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"
)

// A temporary file's name is prefix, the host, the process, sixteen hex digits and suffix; older ones have no
// host and no process. Names that say whose they are let a later run clean up without touching anyone else's
// hidden files. The file is locked as long as its process lives; but not every file system on a network has
// locks that other hosts see.
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
	if err == nil {
		if what := Oddity(old.Mode()); what != "" {
			return nil, fmt.Errorf("it is %s, which is never replaced: move it away", what)
		}
	}
	if leadsToOpen(path) {
		return nil, errors.New("it is the name of a file that is open already; want one of its own")
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
	f, err := os.OpenFile(filepath.Join(folder, temporaryName()), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
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

// thisHost is the host as names of files have it.
var thisHost = sync.OnceValue(func() string {
	name, err := os.Hostname()
	if err != nil {
		return "unknown"
	}
	return hostInName(name)
})

// hostInName is a host's name with nothing in it but small letters, digits and dots, and not too long.
func hostInName(name string) string {
	name = strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '.'
	}, strings.ToLower(name))
	return name[:min(len(name), 63)]
}

// owner is whose a temporary file is.
type owner struct {
	host    string // empty: its name does not say
	process int
}

// ownerOf reads the name of a temporary file.
func ownerOf(name string) (o owner, ok bool) {
	name, ok = strings.CutPrefix(name, prefix)
	if !ok {
		return o, false
	}
	if name, ok = strings.CutSuffix(name, suffix); !ok {
		return o, false
	}
	parts := strings.Split(name, "-")
	last := parts[len(parts)-1]
	if len(last) != 16 || strings.Trim(last, "0123456789abcdef") != "" {
		return o, false
	}
	switch len(parts) {
	case 1:
		return o, true
	case 3:
		n, err := strconv.Atoi(parts[1])
		o = owner{parts[0], n}
		return o, err == nil && n > 0 && parts[0] != "" && hostInName(parts[0]) == parts[0]
	}
	return o, false
}

func isTemporary(name string) bool {
	_, ok := ownerOf(name)
	return ok
}

// foreignAge is how old the last write to another host's temporary file must be for it to be litter.
const foreignAge = 24 * time.Hour

// dead says whether the process that made a temporary file has gone, as far as that can be told without its
// lock. Of another host's nobody knows, so that time must tell. One that does not say whose it is has its
// lock alone.
func (o owner) dead(written, now time.Time) bool {
	switch {
	case now.Sub(written) > foreignAge:
		return true
	case o.host == "":
		return true
	case o.host != thisHost():
		return false
	}
	return !runs(o.process)
}

// Clean removes the temporary files and scratch folders that dead processes left in a
// folder, and returns how many there were. Those in use stay. A folder that
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
		o, ours := ownerOf(e.Name())
		if scratch := e.IsDir() && o.host != ""; !e.Type().IsRegular() && !scratch || !ours {
			continue
		}
		if info, err := e.Info(); err != nil || !o.dead(info.ModTime(), time.Now()) {
			continue
		}
		removed, err := removeDead(filepath.Join(folder, e.Name()), o.host != "")
		if removed {
			n++
		}
		errs = append(errs, err)
	}
	return n, errors.Join(errs...)
}
