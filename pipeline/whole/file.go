// Package whole writes files that appear whole or not at all. Until it is
// finished a file is a hidden one in the folder of its place; it is brought to the
// disk before it is renamed, so that not even a power cut leaves a part of it.
package whole

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// File is a file on its way to its place. It is not safe for use by several
// goroutines at once. Its errors do not name a file: the caller knows the one
// it means, and need not learn the name of a hidden one.
type File struct {
	path string
	temp *os.File // nil after Commit or Abort

	written, begun int64 // bytes written, and those of them that are being brought to the disk
}

// stretch is how many bytes are brought to the disk at once, while others are made. The less is left
// for Commit to wait for.
const stretch = 4 << 20

// Create starts a file for path, in a folder that exists. Nothing is to be seen
// at path before Commit, which replaces what is there, a link itself and not
// what it points to. The permissions of a file that is replaced are kept. The
// caller must end with Commit or Abort.
func Create(path string) (*File, error) {
	temp, err := newTemporary(path)
	if err != nil {
		return nil, nameless(err)
	}
	return &File{path: path, temp: temp}, nil
}

// Write adds p to the file.
func (f *File) Write(p []byte) (int, error) {
	n, err := f.temp.Write(p)
	f.written += int64(n)
	if f.written-f.begun >= stretch {
		writeBack(f.temp, f.begun, f.written-f.begun)
		f.begun = f.written
	}
	return n, nameless(err)
}

// WriteAt replaces bytes that have been written.
func (f *File) WriteAt(p []byte, off int64) (int, error) {
	n, err := f.temp.WriteAt(p, off)
	return n, nameless(err)
}

// ReadAt reads bytes that have been written.
func (f *File) ReadAt(p []byte, off int64) (int, error) {
	n, err := f.temp.ReadAt(p, off)
	return n, nameless(err)
}

// Name is the path of the hidden file, which can be read there until Commit or Abort.
func (f *File) Name() string { return f.temp.Name() }

// Commit makes the file appear at its path. If it fails, nothing has changed
// there, and Abort is still to be called.
func (f *File) Commit() error {
	if err := publish(f.temp, f.path); err != nil {
		return nameless(err)
	}
	f.temp = nil
	return nil
}

// Abort leaves no file. After Commit it does nothing.
func (f *File) Abort() {
	if f.temp != nil {
		remove(f.temp)
		f.temp = nil
	}
}

// Write makes a file of text at path, as Create and Commit do.
func Write(path string, text []byte) error {
	f, err := Create(path)
	if err != nil {
		return err
	}
	defer f.Abort()
	if _, err := f.Write(text); err != nil {
		return err
	}
	return f.Commit()
}

// nameless is err without the name of a file that the system put into it.
func nameless(err error) error {
	if p := (*fs.PathError)(nil); errors.As(err, &p) {
		return fmt.Errorf("%s: %w", p.Op, p.Err)
	}
	if l := (*os.LinkError)(nil); errors.As(err, &l) {
		return fmt.Errorf("%s: %w", l.Op, l.Err)
	}
	return err
}
