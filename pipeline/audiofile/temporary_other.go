//go:build !unix || solaris || illumos || aix

package audiofile

import "os"

// lock does nothing: where there are no locks that end with a process, an open file cannot be removed.
func lock(*os.File) bool { return true }

// publish brings the file to the disk and then to its place. An open file cannot be renamed.
func (t *temporary) publish(path string) error {
	if err := t.file.Sync(); err != nil {
		return err
	}
	if err := t.file.Close(); err != nil {
		return err
	}
	return os.Rename(t.file.Name(), path)
}

// removeDead removes a temporary file that no process has open.
func removeDead(path string) (bool, error) {
	err := os.Remove(path)
	return err == nil, nil
}
