//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package pipeline

import (
	"errors"
	"os"
	"strings"
	"syscall"
	"testing"

	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/fresh"
)

// Parts of one number share a folder; each of them is alone, and so are the whole release and parts of
// another number.
func TestPartsShareAFolder(t *testing.T) {
	folder := t.TempDir()
	lock := func(text string) (folderLock, error) {
		p, _ := fresh.ParsePart(text) // "": the whole
		return lockFor(folder, p, tryLock)
	}
	take := func(text string) func() {
		t.Helper()
		l, err := lock(text)
		if err != nil || l.note != "" {
			t.Fatalf("%q: %v, note %q", text, err, l.note)
		}
		return l.release
	}
	refused := func(texts ...string) {
		t.Helper()
		for _, text := range texts {
			l, err := lock(text)
			if held := (*HeldError)(nil); !errors.As(err, &held) || held.PID != os.Getpid() {
				t.Errorf("%q: %v, want that this process holds it", text, err)
			}
			if err == nil {
				l.release()
			}
		}
	}
	one, three := take("1/3"), take("3/3")
	refused("", "1/3", "3/3", "1/2")
	two := take("2/3")
	one()
	refused("", "2/3", "1/2")
	take("1/3")()
	two()
	three()
	whole := take("")
	refused("", "1/3")
	whole()
	if names := foldertest.Names(t, folder); len(names) > 0 {
		t.Errorf("left behind: %q", names)
	}

	// A dead part of another number is in nobody's way.
	if err := os.WriteFile(folder+"/"+lockName+"-1-4", nil, 0o666); err != nil {
		t.Fatal(err)
	}
	take("1/3")()
	if names := foldertest.Names(t, folder); len(names) > 0 {
		t.Errorf("left behind: %q", names)
	}
}

// Where the file system has no locks a release is rendered nonetheless, with a note.
func TestRenderWithoutLocks(t *testing.T) {
	for _, errno := range []syscall.Errno{syscall.ENOSYS, syscall.EOPNOTSUPP, syscall.ENOLCK} {
		for _, part := range []fresh.Part{{}, {K: 1, N: 1}} {
			d := calmDesk(t)
			f := onDisk
			f.lock = func(*os.File, bool) error { return lockError(&os.SyscallError{Syscall: "flock", Err: errno}) }
			out, err := renderWith(t.Context(), d.load(), Options{Part: part}, f, 4096)
			d.must(err)
			if notes := strings.Join(out.Notes, "\n"); !strings.Contains(notes, "has no locks") || out.Failed() > 0 {
				t.Errorf("%v: %d failed, notes %q", errno, out.Failed(), notes)
			}
		}
	}
	if err := lockError(syscall.EBADF); !errors.Is(err, syscall.EBADF) {
		t.Errorf("another error of a lock is %v", err)
	}
}

// Over NFS a lock for itself alone needs a file that is open for writing: flock(2).
func TestLocksAreOpenForWriting(t *testing.T) {
	for _, part := range []fresh.Part{{}, {K: 1, N: 2}} {
		n := 0
		l, err := lockFor(t.TempDir(), part, func(f *os.File, shared bool) error {
			n++
			if _, err := f.WriteString("held"); err != nil {
				t.Errorf("part %v: %v", part, err)
			}
			return tryLock(f, shared)
		})
		if err != nil || n == 0 {
			t.Fatalf("%d locks, %v", n, err)
		}
		l.release()
	}
}
