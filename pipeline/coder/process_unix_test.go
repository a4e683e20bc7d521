//go:build unix

package coder

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"ledgerline/pipeline/coder/codertest"
)

// runs says whether the process whose number is in a file runs, if it has been written.
func runs(t *testing.T, file string) bool {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		return false // it was ended before it could write
	}
	pid, err := strconv.Atoi(string(text))
	if err != nil {
		return false
	}
	if stat, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/stat"); err == nil &&
		strings.Contains(string(stat), ") Z ") {
		return false // nobody has asked how it ended
	}
	return syscall.Kill(pid, 0) == nil
}

// A program is ended with what it has started, when it ends and when the run is interrupted.
func TestNoProcessIsLeft(t *testing.T) {
	codertest.Use(t, codertest.Version)
	gone := func(t *testing.T, file string) {
		t.Helper()
		deadline := time.Now().Add(20 * time.Second)
		for runs(t, file) {
			if time.Now().After(deadline) {
				t.Fatal("it runs on")
			}
			time.Sleep(10 * time.Millisecond)
		}
	}
	t.Run("after its end", func(t *testing.T) {
		b, file := delivery(t, "quay.wav")
		pid := filepath.Join(t.TempDir(), "pid")
		c := through("copy")
		c.Encode = codertest.Program("leave", pid, "{in}", "{out}.bin")
		mustRun(t, b, file, c)
		gone(t, pid)
	})
	t.Run("after an interrupt", func(t *testing.T) {
		b, file := delivery(t, "quay.wav")
		pid := filepath.Join(t.TempDir(), "pid")
		c := through("copy")
		c.Encode = codertest.Program("wait", pid, "{in}", "{out}")
		ctx, cancel := context.WithCancel(context.Background())
		go func() {
			for _, err := os.Stat(pid); err != nil; _, err = os.Stat(pid) {
				time.Sleep(10 * time.Millisecond)
			}
			cancel()
		}()
		if _, err := b.Run(ctx, file, c); !errors.Is(err, context.Canceled) {
			t.Errorf("the error is %v", err)
		}
		gone(t, pid)
	})
}
