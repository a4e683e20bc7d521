package main

import (
	"context"
	"errors"
	"os"
	"os/signal"
	"syscall"
)

// signalled is the cause of a context that a signal ended.
type signalled struct{ signal syscall.Signal }

func (s signalled) Error() string { return "interrupted" }

// interruptible is ended by SIGINT, SIGTERM and SIGHUP; the last not if it was ignored at
// the start, as under nohup. A second signal kills the process at once, except SIGHUP,
// because closing a terminal sends several.
func interruptible(parent context.Context) (context.Context, func()) {
	ctx, cancel := context.WithCancelCause(parent)
	got := make(chan os.Signal, 1)
	signal.Notify(got, syscall.SIGINT, syscall.SIGTERM)
	if !signal.Ignored(syscall.SIGHUP) {
		signal.Notify(got, syscall.SIGHUP)
	}
	go func() {
		select {
		case sig := <-got:
			signal.Ignore(syscall.SIGHUP)
			signal.Stop(got)
			cancel(signalled{sig.(syscall.Signal)})
		case <-ctx.Done():
		}
	}()
	return ctx, func() {
		signal.Stop(got)
		cancel(nil)
	}
}

// interrupted is err, or the signal if one stopped the work.
func interrupted(ctx context.Context, err error) error {
	var sig signalled
	if err != nil && errors.As(context.Cause(ctx), &sig) {
		return sig
	}
	return err
}
