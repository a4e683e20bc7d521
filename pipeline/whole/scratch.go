package whole

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// A Scratch is a folder for what nobody keeps. Its name is that of a temporary file, so that Clean removes it
// once its process has gone, however that ended.
type Scratch struct {
	Path string

	held *os.File // open and locked while the folder is in use
}

// NewScratch makes an empty folder in a folder that exists. The caller must end with Remove.
func NewScratch(folder string) (*Scratch, error) {
	for range 100 {
		path := filepath.Join(folder, temporaryName())
		err := os.Mkdir(path, 0o777)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, nameless(err)
		}
		held, err := hold(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue // a cleaner was faster
		}
		if err != nil {
			_ = os.Remove(path)
			return nil, nameless(err)
		}
		if s := (&Scratch{path, held}); lock(held) && stillThere(held) {
			return s, nil
		}
		held.Close()
	}
	return nil, fmt.Errorf("no name is free for a folder in %q", folder)
}

// Remove removes the folder and all in it.
func (s *Scratch) Remove() {
	if s.held == nil {
		return
	}
	_ = s.held.Close() // an open file cannot be removed everywhere
	s.held = nil
	_ = os.RemoveAll(s.Path)
}

// temporaryName is a new name that says whose it is.
func temporaryName() string {
	return fmt.Sprintf("%s%s-%d-%016x%s", prefix, thisHost(), os.Getpid(), rand.Uint64(), suffix)
}
