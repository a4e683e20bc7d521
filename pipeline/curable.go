package pipeline

import (
	"errors"
	"slices"
	"syscall"
)

// Curable says whether doing the same again may do away with an error: another process holds the folder, or a
// disk or a file system on the network failed in a way that passes or that is mended from outside. Of several
// errors in one all must be.
func Curable(err error) bool {
	if err == nil {
		return false
	}
	if _, held := err.(*HeldError); held {
		return true
	}
	if errno, ok := err.(syscall.Errno); ok {
		return slices.Contains([]syscall.Errno{syscall.EIO, syscall.ESTALE, syscall.ETIMEDOUT, syscall.ENOSPC},
			errno)
	}
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		all := many.Unwrap()
		return len(all) > 0 && !slices.ContainsFunc(all, func(err error) bool { return !Curable(err) })
	}
	return Curable(errors.Unwrap(err))
}
