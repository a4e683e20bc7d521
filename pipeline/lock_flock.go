//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package pipeline

import (
	"errors"
	"os"
	"syscall"
)

// tryLock locks f without waiting; errHeld where another process has it.
func tryLock(f *os.File) error {
	err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return errHeld
	}
	return err
}

// unlock takes the file away while it is still locked, so that nobody can lock
// a file that is about to vanish without noticing.
func unlock(f *os.File, path string) {
	_ = os.Remove(path)
	_ = f.Close()
}
