package main

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
)

// The exit codes, the same for every verb.
const (
	exitDone        = 0
	exitFailed      = 1 // something failed; the rest was done
	exitUsage       = 2 // the command line or the release file is wrong; nothing was done
	exitRequirement = 3 // a requirement failed
	// something failed that the same command may do if it is repeated: EX_TEMPFAIL of sysexits.h
	exitTemporary   = 75
	exitInterrupted = 130 // 128 + SIGINT; other signals end with theirs, see exitOf
)

// failure is an error with the program's exit code. If its error is nil, everything has
// been reported already.
type failure struct {
	code int
	hint string // what to try; may be empty
	err  error
}

func (f *failure) Error() string { return f.err.Error() }

func (f *failure) Unwrap() error { return f.err }

// wrongUsage is the error of a wrong command line.
func wrongUsage(hint, format string, args ...any) error {
	return &failure{code: exitUsage, hint: hint, err: fmt.Errorf(format, args...)}
}

// report prints what went wrong, if anything, and returns the exit code.
func (s *streams) report(err error) int {
	if err == nil {
		return exitDone
	}
	var sig signalled
	if errors.As(err, &sig) {
		return exitOf(sig.signal)
	}
	f := &failure{code: codeOf(err), err: err}
	if errors.As(err, new(*ledger.UnreadableError)) { // the whole command failed, so nothing was done
		f.code = exitUsage
	}
	errors.As(err, &f)
	if f.err != nil {
		fmt.Fprintf(s.err, "ledgerline: %s\n", told(f.err))
	}
	if f.hint != "" {
		fmt.Fprintf(s.err, "hint: %s\n", f.hint)
	}
	return f.code
}

// codeOf is the exit code of a run in which such errors came up: a failure that a person must look at counts
// before one that a repeat may cure.
func codeOf(errs ...error) int {
	switch {
	case len(errs) == 0:
		return exitDone
	case errors.As(errs[0], new(*ledger.TooLongError)):
		return exitUsage
	case pipeline.Curable(errors.Join(errs...)):
		return exitTemporary
	}
	return exitFailed
}

// failed is the error of such a run, in which they have been reported; nil if there are none.
func failed(errs ...error) error {
	if code := codeOf(errs...); code != exitDone {
		return &failure{code: code}
	}
	return nil
}

// told is an error in words. The system's own for a file that is not there are not ours.
func told(err error) string {
	var at *fs.PathError
	if errors.As(err, &at) && errors.Is(err, fs.ErrNotExist) {
		return strings.Replace(err.Error(), at.Error(), at.Path+": there is no such file", 1)
	}
	return err.Error()
}

// exitOf is the exit code that a shell gives a command ended by a signal.
func exitOf(sig syscall.Signal) int { return 128 + int(sig) }
