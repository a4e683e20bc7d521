//go:build unix && !solaris && !illumos && !aix

package whole

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"ledgerline/pipeline/foldertest"
)

// writeForever is what the killed process of TestKilledWriter does.
func writeForever(path string) {
	f, err := Create(path)
	if err != nil {
		fmt.Println(err)
		return
	}
	if _, err := f.Write(make([]byte, 1<<17)); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(foldertest.Ready)
	bufio.NewReader(os.Stdin).ReadByte()
}

// A killed writer leaves one file, which is cleaned away when it is dead and not before.
func TestKilledWriter(t *testing.T) {
	if path := os.Getenv("WHOLE_TEST_WRITE"); path != "" {
		writeForever(path)
		return
	}
	dir := t.TempDir()
	cmd := foldertest.OtherProcess(t, "WHOLE_TEST_WRITE="+filepath.Join(dir, "x.wav"),
		"-test.run=^TestKilledWriter$")
	if n, err := Clean(dir); n != 0 || err != nil || len(foldertest.Names(t, dir)) != 1 {
		t.Errorf("while it writes: %d cleaned (%v), the folder holds %q", n, err, foldertest.Names(t, dir))
	}
	cmd.Process.Kill()
	cmd.Wait()
	if names := foldertest.Names(t, dir); len(names) != 1 || !isTemporary(names[0]) {
		t.Errorf("it leaves %q", names)
	}
	if n, err := Clean(dir); n != 1 || err != nil || len(foldertest.Names(t, dir)) != 0 {
		t.Errorf("then: %d cleaned (%v), the folder holds %q", n, err, foldertest.Names(t, dir))
	}
}

// Of this host, files go whose process has gone; of another, those to which nobody has written for a day.
// Where there are no locks that alone decides, and a file that does not say whose it is stays.
func TestCleanByOwner(t *testing.T) {
	gone := exec.Command("true")
	if err := gone.Run(); err != nil {
		t.Skip(err)
	}
	dead, alive := gone.ProcessState.Pid(), os.Getppid()
	const end = "-0123456789abcdef.part"
	for _, locks := range []bool{true, false} {
		if !locks {
			was := flock
			flock = func(*os.File) error { return syscall.ENOLCK }
			defer func() { flock = was }()
		}
		dir := t.TempDir()
		for _, c := range []struct {
			name string
			age  time.Duration
			goes bool
		}{
			{fmt.Sprintf("%s%s-%d%s", prefix, thisHost(), dead, end), 0, true},
			{fmt.Sprintf("%s%s-%d%s", prefix, thisHost(), alive, end), 0, false},
			{prefix + "other.host-1" + end, 23 * time.Hour, false},
			{prefix + "another-1" + end, 25 * time.Hour, true},
			{prefix + end[1:], 0, locks},
		} {
			path := filepath.Join(dir, c.name)
			os.WriteFile(path, nil, 0o600)
			at := time.Now().Add(-c.age)
			os.Chtimes(path, at, at)
			if !isTemporary(c.name) {
				t.Errorf("%s is not ours", c.name)
			}
			if _, err := Clean(dir); err != nil {
				t.Error(err)
			}
			if _, err := os.Stat(path); os.IsNotExist(err) != c.goes {
				t.Errorf("locks: %t; %s: %v, want that it goes: %t", locks, c.name, err, c.goes)
			}
			os.Remove(path)
		}
	}
	// A file that is being written says whose it is.
	f, err := Create(filepath.Join(t.TempDir(), "x.wav"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Abort()
	if o, ok := ownerOf(filepath.Base(f.temp.Name())); !ok || o != (owner{thisHost(), os.Getpid()}) {
		t.Errorf("%s is of %+v", f.temp.Name(), o)
	}
}

// Nobody else's file is touched, whatever it is called.
func TestCleanLeavesOthers(t *testing.T) {
	dir := t.TempDir()
	left := ".ledgerline-0123456789abcdef.part"
	others := []string{
		".hidden.wav", ".ledgerline-0123456789abcdef.part.wav", ".ledgerline-0123456789ABCDEF.part",
		".ledgerline-.part",
		".ledgerline-0123456789abcde.part", ".ledgerline-0123456789abcdefg.part",
		"ledgerline-0123456789abcdef.part", "x.wav",
	}
	for _, name := range append(others, left) {
		os.WriteFile(filepath.Join(dir, name), nil, 0o600)
	}
	folder := ".ledgerline-fedcba9876543210.part"
	os.Mkdir(filepath.Join(dir, folder), 0o700)
	if n, err := Clean(dir); n != 1 || err != nil {
		t.Errorf("%d cleaned (%v), want 1", n, err)
	}
	want := append(others, folder)
	slices.Sort(want)
	if got := foldertest.Names(t, dir); !slices.Equal(got, want) {
		t.Errorf("the folder holds %q, want %q", got, want)
	}
	if n, err := Clean(filepath.Join(dir, "none")); n != 0 || err != nil {
		t.Errorf("a folder that is not there: %d cleaned (%v)", n, err)
	}
}
