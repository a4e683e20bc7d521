//go:build !(darwin || dragonfly || freebsd || linux || netbsd || openbsd)

package pipeline

import "os"

// tryLock does nothing: this system has no lock that dies with its process.
func tryLock(*os.File, bool) error { return nil }

func unlock(f *os.File, path string) {
	_ = f.Close()
	_ = os.Remove(path)
}
