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

// interruptible is ended by SIGINT, by SIGTERM and, unless it was started with
// that ignored, as by nohup, by SIGHUP. A second signal kills the process at
// once, as it would have without us; but not a SIGHUP, of which a terminal that
// is closed sends several.
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

// interrupted is err, or the signal where one kept the work from its end.
func interrupted(ctx context.Context, err error) error {
	var sig signalled
	if err != nil && errors.As(context.Cause(ctx), &sig) {
		return sig
	}
	return err
}
