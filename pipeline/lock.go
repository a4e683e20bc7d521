package pipeline

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// lockName is the file in an output folder that whoever renders into it holds
// locked. The lock dies with its process; the file is taken away at the end.
const lockName = ".ledgerline-lock"

// HeldError says that another process renders into the same folder.
type HeldError struct {
	Folder string
	PID    int // 0: not known
	Host   string
	Since  time.Time
}

func (e *HeldError) Error() string {
	if e.PID == 0 {
		return fmt.Sprintf("%q is being rendered into by another process", e.Folder)
	}
	return fmt.Sprintf("%q is being rendered into by process %d on %s since %s",
		e.Folder, e.PID, e.Host, e.Since.Format(time.DateTime))
}

// lockOwner is what a lock's file says of who holds it.
type lockOwner struct {
	PID   int       `json:"pid"`
	Host  string    `json:"host"`
	Since time.Time `json:"since"`
}

// errHeld is what tryLock says of a file that someone else has locked.
var errHeld = errors.New("held")

// lockFolder keeps other processes from rendering into a folder until release
// is called. Where another one holds it, the error is a *HeldError.
func lockFolder(folder string) (release func(), err error) {
	path := filepath.Join(folder, lockName)
	for {
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
		if err != nil {
			return nil, fmt.Errorf("lock the output folder: %w", err)
		}
		if err := tryLock(f); err != nil {
			defer f.Close()
			if errors.Is(err, errHeld) {
				return nil, heldBy(f, folder)
			}
			return nil, fmt.Errorf("lock %q: %w", path, err)
		}
		// An owner that has just ended may have taken the file away between
		// our opening and our locking it. Then we have locked nothing.
		if samePlace(f, path) {
			sayOwner(f)
			return func() { unlock(f, path) }, nil
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
