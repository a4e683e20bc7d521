//go:build unix && !solaris && !illumos && !aix

package audiofile

import (
	"errors"
	"path/filepath"
	"syscall"
	"testing"
)

func TestOpenPipe(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe.wav")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(pipe); !errors.Is(err, ErrNotAudio) {
		t.Errorf("a pipe: %v", err)
	}
}
