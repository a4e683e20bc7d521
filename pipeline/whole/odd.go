package whole

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// OddError says that what is at a path is neither a file nor a folder: to open it could wait for ever, or do
// something to a machine.
type OddError struct {
	Path string
	What string // "a named pipe"
}

func (e *OddError) Error() string {
	return fmt.Sprintf("%q is %s; want an ordinary file there", e.Path, e.What)
}

// Oddity says what has such a mode, if it is neither a file nor a folder nor a link: "a named pipe". It is
// empty for those.
func Oddity(mode fs.FileMode) string {
	switch {
	case mode.IsRegular(), mode.IsDir(), mode&fs.ModeSymlink != 0:
		return ""
	case mode&fs.ModeNamedPipe != 0:
		return "a named pipe"
	case mode&fs.ModeSocket != 0:
		return "a socket"
	case mode&fs.ModeDevice != 0:
		return "a device"
	}
	return "no ordinary file"
}

// Odd is an *OddError if what is at a path, or what a link there leads to, is neither a file nor a folder.
// It is also nil where nothing is there or can be seen: whoever opens it finds out. A pipe that the
// caller was started with, as a shell's <(...) is, has a name among the open files, and is not odd.
func Odd(path string) error {
	info, err := os.Stat(path)
	if err != nil || isOpen(path) {
		return nil
	}
	if what := Oddity(info.Mode()); what != "" {
		return &OddError{path, what}
	}
	return nil
}

// isOpen says whether a path is the name of a file that this process has open.
func isOpen(path string) bool {
	path = filepath.ToSlash(filepath.Clean(path))
	return path == "/dev/stdin" || strings.HasPrefix(path, "/dev/fd/") ||
		strings.HasPrefix(path, "/proc/self/fd/")
}

// leadsToOpen says whether a path, or the link that is there, is such a name. /dev/stdout is one: to replace
// the link, which root may, would take it from every process of the machine.
func leadsToOpen(path string) bool {
	to, err := os.Readlink(path)
	if err == nil && !filepath.IsAbs(to) {
		to = filepath.Join(filepath.Dir(path), to)
	}
	return isOpen(path) || err == nil && isOpen(to)
}

// Open opens a file to be read, and nothing that is Odd.
func Open(path string) (*os.File, error) {
	if err := Odd(path); err != nil {
		return nil, err
	}
	return os.Open(path)
}

// ReadFile is the text of a file; of what is Odd it reads nothing.
func ReadFile(path string) ([]byte, error) {
	if err := Odd(path); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
}
