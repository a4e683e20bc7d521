//go:build unix

package main

import (
	"os/signal"
	"syscall"
	"testing"
)

// Closing a terminal sends several SIGHUP. The first ends the run in order, the others
// do not kill it.
func TestFurtherHangUpsDoNotKill(t *testing.T) {
	if signal.Ignored(syscall.SIGHUP) {
		t.Skip("started with SIGHUP ignored")
	}
	defer signal.Reset(syscall.SIGHUP)
	ctx, stop := interruptible(t.Context())
	defer stop()
	for range 3 {
		if err := syscall.Kill(syscall.Getpid(), syscall.SIGHUP); err != nil {
			t.Fatal(err)
		}
		<-ctx.Done()
	}
	if got := exitOf(interrupted(ctx, ctx.Err()).(signalled).signal); got != 129 {
		t.Errorf("exit code %d, want 129", got)
	}
}
