package pipeline

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"
	"testing"
)

func TestCurable(t *testing.T) {
	in := func(err error) error {
		return fmt.Errorf("01 quay: %w", &fs.PathError{Op: "read", Path: "a.wav", Err: err})
	}
	for _, err := range []error{
		&HeldError{Folder: "masters"}, in(syscall.EIO), in(syscall.ESTALE), in(syscall.ETIMEDOUT),
		in(syscall.ENOSPC),
		errors.Join(in(syscall.EIO), nil, &HeldError{}),
	} {
		if !Curable(err) {
			t.Errorf("%v: a repeat may cure it", err)
		}
	}
	for _, err := range []error{
		nil, errors.New("corrupt WAV file"), in(syscall.EACCES), in(syscall.ENOENT), in(syscall.EROFS),
		errors.Join(in(syscall.EIO), in(syscall.EACCES)), errors.Join(errors.New("a"), in(syscall.ENOSPC)),
	} {
		if Curable(err) {
			t.Errorf("%v: a repeat cures nothing", err)
		}
	}
}
