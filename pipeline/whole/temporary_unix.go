//go:build unix && !solaris && !illumos && !aix

package whole

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// lock takes a lock that ends with the process, however it ends. False = someone else
// has it. A file system without locks has no one else.
func lock(f *os.File) bool {
	err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	return err != syscall.EWOULDBLOCK
}

// publish brings the file to the disk and then to its place. It is renamed while it is still
// locked, so that no cleaner can take it for a dead process's.
func publish(f *os.File, path string) error {
	if err := f.Sync(); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	_ = f.Close() // all is on the disk: no failure can take it back
	return nil
}

// remove deletes the file while it is still locked, and closes it.
func remove(f *os.File) {
	os.Remove(f.Name())
	f.Close()
}

// removeDead removes a temporary file that no process has locked.
func removeDead(path string) (bool, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) { // finished in the meantime
		return false, nil
	}
	if err != nil {
		return false, err
	}
	defer f.Close()
	// Without locks on this file system nobody can tell: leave it.
	if syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) != nil || !stillThere(f) {
		return false, nil
	}
	err = os.Remove(path)
	return err == nil, err
}
