//go:build unix && !solaris && !illumos && !aix

package whole

import (
	"errors"
	"net"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// What could wait for ever is neither opened nor replaced, by its own name or through a link.
func TestOdd(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	if err := syscall.Mkfifo(at("pipe"), 0o600); err != nil {
		t.Fatal(err)
	}
	// a name of its own: that of a test's folder may be longer than a socket's may be
	short, err := os.MkdirTemp("", "s")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(short) })
	socket := filepath.Join(short, "s")
	l, err := net.Listen("unix", socket)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for name, to := range map[string]string{"link": at("pipe"), "broken": at("nothing")} {
		if err := os.Symlink(to, at(name)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(at("file"), []byte("text"), 0o600); err != nil {
		t.Fatal(err)
	}
	for path, what := range map[string]string{
		at("pipe"): "a named pipe", at("link"): "a named pipe", socket: "a socket", os.DevNull: "a device",
		at("file"): "", at("broken"): "", at("nothing"): "", dir: "", "/dev/stdin": "",
	} {
		var odd *OddError
		err := Odd(path)
		if errors.As(err, &odd) != (what != "") || odd != nil && *odd != (OddError{path, what}) {
			t.Errorf("%s: %v, want %q", path, err, what)
		}
		if what == "" {
			continue
		}
		if _, err := Open(path); !errors.As(err, &odd) {
			t.Errorf("Open(%s): %v", path, err)
		}
		if _, err := ReadFile(path); !errors.As(err, &odd) {
			t.Errorf("ReadFile(%s): %v", path, err)
		}
	}
	for _, path := range []string{at("pipe"), socket} {
		before, _ := os.Lstat(path)
		if err := Write(path, []byte("new")); err == nil {
			t.Errorf("%s is written over", path)
		}
		if after, err := os.Lstat(path); err != nil || !os.SameFile(before, after) {
			t.Errorf("%s is no longer there", path)
		}
	}
	if text, err := ReadFile(at("file")); err != nil || string(text) != "text" {
		t.Errorf("a file: %q, %v", text, err)
	}
}

// A link to an open file stays. Links like that at /dev/stdout, which is a whole machine's, are made for the
// test: as root a mistake would replace it.
func TestWriteOverALinkToAnOpenFile(t *testing.T) {
	dir := t.TempDir()
	relative, err := filepath.Rel(dir, "/dev/fd/1")
	if err != nil {
		t.Fatal(err)
	}
	for name, to := range map[string]string{"linux": "/proc/self/fd/1", "bsd": relative} {
		path := filepath.Join(dir, name)
		if err := os.Symlink(to, path); err != nil {
			t.Fatal(err)
		}
		if err := Write(path, []byte("new")); err == nil {
			t.Errorf("%s: a link to an open file is written over", name)
		}
		if is, err := os.Readlink(path); err != nil || is != to {
			t.Errorf("%s: the link leads to %q, %v; want %q", name, is, err, to)
		}
	}
}
