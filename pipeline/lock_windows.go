package pipeline

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockedAt is where the locked byte lies: beyond the text, which others may
// then read.
const lockedAt = 1 << 20

// tryLock locks f without waiting; errHeld where another process has it.
func tryLock(f *os.File) error {
	err := windows.LockFileEx(windows.Handle(f.Fd()),
		windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY,
		0, 1, 0, &windows.Overlapped{Offset: lockedAt})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errHeld
	}
	return err
}

// unlock closes before it removes: an open file cannot be removed here.
func unlock(f *os.File, path string) {
	_ = f.Close()
	_ = os.Remove(path)
}
