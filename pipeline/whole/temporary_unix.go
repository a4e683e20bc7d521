//go:build unix && !solaris && !illumos && !aix

package whole

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// flock is the system's lock, which a test may do without.
var flock = func(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) }

// lock takes a lock that ends with the process, however it ends. False = someone else
// has it. A file system without locks has no one else.
func lock(f *os.File) bool {
	err := flock(f)
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

// runs says whether there is a process of that number on this host.
func runs(process int) bool {
	err := syscall.Kill(process, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}

// hold opens what is locked while a scratch folder is in use: the folder itself.
func hold(folder string) (*os.File, error) { return os.Open(folder) }

// removeDead removes a temporary file or a scratch folder that no process has locked. Where the file system
// has no locks, its owner must be known, and has been looked at.
func removeDead(path string, owned bool) (bool, error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0) // over NFS a lock needs a file that can be written to
	if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EISDIR) {
		f, err = os.Open(path)
	}
	if errors.Is(err, fs.ErrNotExist) { // finished in the meantime
		return false, nil
	}
	if err != nil {
		return false, err
	}
	defer f.Close()
	err = flock(f)
	if errors.Is(err, syscall.EWOULDBLOCK) || err != nil && !owned || !stillThere(f) {
		return false, nil
	}
	err = os.RemoveAll(path)
	return err == nil, err
}
