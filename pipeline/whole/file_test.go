package whole

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ledgerline/pipeline/foldertest"
)

// Before Commit there is nothing to be seen but one hidden file in the same folder; after
// it, or after Abort, there is none.
func TestWholeOrNotAtAll(t *testing.T) {
	for _, commit := range []bool{true, false} {
		dir := t.TempDir()
		f, err := Create(filepath.Join(dir, "x.wav"))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte("all of it")); err != nil {
			t.Fatal(err)
		}
		if names := foldertest.Names(t, dir); len(names) != 1 || !isTemporary(names[0]) {
			t.Errorf("before the end the folder holds %q", names)
		}
		want := 0
		if commit {
			want = 1
			if err := f.Commit(); err != nil {
				t.Fatal(err)
			}
		}
		f.Abort()
		f.Abort()
		names := foldertest.Names(t, dir)
		if len(names) != want || want == 1 && (names[0] != "x.wav" || foldertest.Text(t, f.path) != "all of it") {
			t.Errorf("Commit called: %t; the folder holds %q", commit, names)
		}
		if _, err := f.Write([]byte("more")); err == nil {
			t.Error("a write after the end is no error")
		}
		if f.Commit() == nil {
			t.Error("a commit after the end is no error")
		}
	}
}

// The new file takes the permissions of the file it replaces, also those that no umask
// would leave. A link is replaced and not followed.
func TestReplacing(t *testing.T) {
	dir := t.TempDir()
	source, link := filepath.Join(dir, "source"), filepath.Join(dir, "link")
	os.WriteFile(source, []byte("a source"), 0o644)
	if err := os.Symlink(source, link); err != nil {
		t.Skip(err)
	}
	if err := Write(link, []byte("new")); err != nil {
		t.Fatal(err)
	}
	if st, err := os.Lstat(link); err != nil || !st.Mode().IsRegular() ||
		foldertest.Text(t, source) != "a source" {
		t.Errorf("the link is %v (%v), the source reads %q", st.Mode(), err, foldertest.Text(t, source))
	}
	for _, mode := range []fs.FileMode{0o600, 0o640, 0o666} {
		path := filepath.Join(dir, mode.String())
		os.WriteFile(path, []byte("old"), 0o600)
		os.Chmod(path, mode)
		if err := Write(path, []byte("new")); err != nil {
			t.Fatal(err)
		}
		if st, _ := os.Stat(path); st.Mode() != mode || foldertest.Text(t, path) != "new" {
			t.Errorf("permissions %v, want those of the file before, %v; it reads %q", st.Mode(), mode,
				foldertest.Text(t, path))
		}
	}
}

// A failure leaves the old file and nothing else, and does not name the hidden one.
func TestFailures(t *testing.T) {
	dir := t.TempDir()
	path, folder := filepath.Join(dir, "x.wav"), filepath.Join(dir, "folder")
	os.WriteFile(path, []byte("the old file"), 0o600)
	os.Mkdir(folder, 0o700)
	check := func(what string, err, is error, text string) {
		t.Helper()
		if err == nil || is != nil && !errors.Is(err, is) || !strings.HasPrefix(err.Error(), text) ||
			strings.Contains(err.Error(), prefix) {
			t.Errorf("%s: error %v, want %v, as %q", what, err, is, text)
		}
		if names := foldertest.Names(t, dir); len(names) != 2 || foldertest.Text(t, path) != "the old file" {
			t.Errorf("%s: the folder holds %q", what, names)
		}
	}
	check("no folder", Write(filepath.Join(dir, "none", "x"), nil), fs.ErrNotExist, "open: ")
	check("a folder of that name", Write(folder, nil), nil, "it is a folder")

	f, err := Create(path)
	if err != nil {
		t.Fatal(err)
	}
	f.temp.Close() // every write fails from here on
	_, err = f.Write([]byte("new"))
	unsynced := f.Commit()
	f.Abort()
	check("a write", err, os.ErrClosed, "write: ")
	check("what cannot be brought to the disk", unsynced, os.ErrClosed, "")

	taken := filepath.Join(dir, "folder", "taken")
	if f, err = Create(taken); err != nil {
		t.Fatal(err)
	}
	os.Mkdir(taken, 0o700) // and so it cannot be renamed
	err = f.Commit()
	f.Abort()
	check("a folder in the way", err, nil, "rename: ")
	if names := foldertest.Names(t, folder); len(names) != 1 {
		t.Errorf("a folder in the way: beside it are %q", names)
	}
}

// A file of several stretches, each brought to the disk while the next is written, has
// what was written.
func TestLongFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a")
	f, err := Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Abort()
	var want []byte
	for n := range byte(30) {
		piece := bytes.Repeat([]byte{n}, 300_000+int(n))
		if _, err := f.Write(piece); err != nil {
			t.Fatal(err)
		}
		want = append(want, piece...)
	}
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(path); err != nil || !bytes.Equal(got, want) {
		t.Errorf("%d bytes, %v; wrote %d", len(got), err, len(want))
	}
}
