//go:build !unix || solaris || illumos || aix

package whole

import "os"

// lock does nothing: where there are no locks that end with a process, an open file cannot be removed.
func lock(*os.File) bool { return true }

// publish brings the file to the disk and then to its place. An open file cannot be renamed.
func publish(f *os.File, path string) error {
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// remove closes and deletes the file: an open one cannot be deleted.
func remove(f *os.File) {
	f.Close()
	os.Remove(f.Name())
}

// runs would say whether there is a process of that number. Nobody knows, but its open file cannot be removed.
func runs(int) bool { return false }

// removeDead removes a temporary file that no process has open.
func removeDead(path string, _ bool) (bool, error) {
	err := os.Remove(path)
	return err == nil, nil
}
