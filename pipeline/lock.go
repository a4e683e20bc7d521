package pipeline

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/whole"
)

// lockName is the file in an output folder that whoever renders into it holds
// locked. The lock dies with its process; the file is taken away at the end.
// Parts of a release share it, and each holds a file with its own numbers besides.
const lockName = ".ledgerline-lock"

// HeldError says that another process renders into the same folder.
type HeldError struct {
	Folder string
	Part   fresh.Part // which it renders; zero: the whole release, or not known
	PID    int        // 0: not known
	Host   string
	Since  time.Time
}

func (e *HeldError) Error() string {
	by := "another process"
	if e.PID != 0 {
		by = fmt.Sprintf("process %d on %s since %s", e.PID, e.Host, e.Since.Format(time.DateTime))
	}
	if !e.Part.Whole() {
		return fmt.Sprintf("part %v is being rendered into %q by %s", e.Part, e.Folder, by)
	}
	return fmt.Sprintf("%q is being rendered into by %s", e.Folder, by)
}

// lockOwner is what a lock's file says of who holds it, or of one of those who share it.
type lockOwner struct {
	PID   int       `json:"pid"`
	Host  string    `json:"host"`
	Since time.Time `json:"since"`
}

// What tryLock says of a file that someone else has locked, and of one on a file system without locks.
var (
	errHeld    = errors.New("held")
	errNoLocks = errors.New("the file system has no locks")
)

// A locker locks an open file without waiting, as tryLock does.
type locker func(f *os.File, shared bool) error

// A folderLock keeps others from rendering into a folder.
type folderLock struct {
	release func()
	note    string // it does not, and why; empty: it does
}

// lockFolder keeps other processes from rendering into a folder until release
// is called. Where another one holds it, the error is a *HeldError.
func lockFolder(folder string) (release func(), err error) {
	l, err := lockWhole(folder, tryLock)
	return l.release, err
}

// lockFor is the lock of a part, or of the whole release.
func lockFor(folder string, p fresh.Part, try locker) (folderLock, error) {
	if p.Whole() {
		return lockWhole(folder, try)
	}
	return lockPart(folder, p, try)
}

func lockWhole(folder string, try locker) (folderLock, error) {
	l, err := lockFile(folder, lockName, func(f *os.File) error { return try(f, false) })
	if err == nil && l.note == "" {
		// Whoever holds a part shares the lock that is held here, so that none is held.
		for name := range partLocks(folder) {
			_ = os.Remove(filepath.Join(folder, name))
		}
	}
	return l, err
}

// partLocks are the locks of parts in a folder, by the names of their files.
func partLocks(folder string) map[string]fresh.Part {
	all := map[string]fresh.Part{}
	list, _ := os.ReadDir(folder) // whoever cannot be seen cannot be locked either
	for _, entry := range list {
		numbers, ok := strings.CutPrefix(entry.Name(), lockName+"-")
		p, err := fresh.ParsePart(strings.Replace(numbers, "-", "/", 1))
		if ok && err == nil && whole.Oddity(entry.Type()) == "" { // a pipe is nobody's lock, and stays
			all[entry.Name()] = p
		}
	}
	return all
}

// lockPart lets other parts of the same number of parts render into the folder, and nobody else.
func lockPart(folder string, p fresh.Part, try locker) (folderLock, error) {
	shared, err := lockFile(folder, lockName, func(f *os.File) error { return try(f, true) })
	if err != nil {
		return folderLock{}, err
	}
	own, err := lockFile(folder, lockName+p.Infix(), func(f *os.File) error { return try(f, false) })
	if err != nil {
		shared.release()
		return folderLock{}, ofPart(err, p)
	}
	l := folderLock{note: shared.note, release: func() { own.release(); shared.release() }}
	// The own lock comes first: of two that look at once, at least one sees the other.
	if err := otherParts(folder, p, try); err != nil {
		l.release()
		return folderLock{}, err
	}
	return l, nil
}

// ofPart is a *HeldError with the part that it is about.
func ofPart(err error, p fresh.Part) error {
	if held := (*HeldError)(nil); errors.As(err, &held) {
		held.Part = p
	}
	return err
}

// otherParts fails if a part of another number of parts is at work: it may have the same tracks.
func otherParts(folder string, p fresh.Part, try locker) error {
	for name, other := range partLocks(folder) {
		if other.N == p.N {
			continue
		}
		l, err := lockFile(folder, name, func(f *os.File) error { return try(f, false) })
		if err != nil {
			return ofPart(err, other)
		}
		l.release() // its process is dead
	}
	return nil
}

func lockFile(folder, name string, try func(*os.File) error) (folderLock, error) {
	path := filepath.Join(folder, name)
	for {
		if err := whole.Odd(path); err != nil {
			return folderLock{}, err
		}
		// over NFS a lock needs a file that can be written to
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
		if err != nil {
			return folderLock{}, fmt.Errorf("writing to the output folder: %w", err)
		}
		err = try(f)
		switch {
		case errors.Is(err, errHeld):
			defer f.Close()
			return folderLock{}, heldBy(f, folder)
		case errors.Is(err, errNoLocks):
			return folderLock{
				note: fmt.Sprintf("the file system of %q has no locks: see to it that nothing else renders into it "+
					"at the same time", folder),
				release: func() { unlock(f, path) },
			}, nil
		case err != nil:
			defer f.Close()
			return folderLock{}, fmt.Errorf("lock %q: %w", path, err)
		}
		// An owner that has just ended may have taken the file away between
		// our opening and our locking it. Then we have locked nothing.
		if samePlace(f, path) {
			sayOwner(f)
			return folderLock{release: func() { unlock(f, path) }}, nil
		}
		f.Close()
	}
}

func samePlace(f *os.File, path string) bool {
	mine, err := f.Stat()
	if err != nil {
		return false
	}
	there, err := os.Stat(path)
	return err == nil && os.SameFile(mine, there)
}

// sayOwner writes who holds the lock. It is for people only, so that a full
// disk is no reason to fail here.
func sayOwner(f *os.File) {
	host, err := os.Hostname()
	if err != nil {
		host = "this machine"
	}
	text, err := json.Marshal(lockOwner{os.Getpid(), host, time.Now().Round(time.Second)})
	if err != nil || f.Truncate(0) != nil {
		return
	}
	_, _ = f.WriteAt(append(text, '\n'), 0)
}

func heldBy(f *os.File, folder string) error {
	e := &HeldError{Folder: folder}
	var h lockOwner
	if err := json.NewDecoder(f).Decode(&h); err == nil {
		e.PID, e.Host, e.Since = h.PID, h.Host, h.Since.Local()
	}
	return e
}
