//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package pipeline

import (
	"errors"
	"os"
	"syscall"
)

// tryLock locks f without waiting, for itself or shared with others; errHeld where another process has it,
// errNoLocks where the file system has no locks.
func tryLock(f *os.File, shared bool) error {
	how := syscall.LOCK_EX
	if shared {
		how = syscall.LOCK_SH
	}
	return lockError(syscall.Flock(int(f.Fd()), how|syscall.LOCK_NB))
}

// lockError is what an error of the system's lock means.
func lockError(err error) error {
	switch {
	case errors.Is(err, syscall.EWOULDBLOCK):
		return errHeld
	case errors.Is(err, syscall.ENOSYS), errors.Is(err, syscall.EOPNOTSUPP), errors.Is(err, syscall.ENOTSUP),
		errors.Is(err, syscall.ENOLCK):
		return errNoLocks
	}
	return err
}

// unlock takes the file away while it is locked, so that nobody can lock a file that is about to vanish
// without noticing. One that others share stays: the last of them takes it away.
func unlock(f *os.File, path string) {
	if err := tryLock(f, false); err == nil || errors.Is(err, errNoLocks) {
		_ = os.Remove(path)
	}
	_ = f.Close()
}
