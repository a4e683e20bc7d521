package audiofile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ledgerline/pipeline/foldertest"
	"ledgerline/stages"
)

var twoFrames = Info{Rate: 48000, Channels: 2, Frames: 2, Encoding: PCM24}

// Before Commit there is nothing to be seen but one hidden file in the same folder; after
// it, or after Abort, there is none.
func TestWholeOrNotAtAll(t *testing.T) {
	for _, commit := range []bool{true, false} {
		dir := t.TempDir()
		path := filepath.Join(dir, "x.wav")
		w, err := Create(path, twoFrames)
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(stages.NewBlock(2, 2)); err != nil {
			t.Fatal(err)
		}
		if names := foldertest.Names(t, dir); len(names) != 1 || names[0][0] != '.' {
			t.Errorf("before the end the folder holds %q", names)
		}
		if w.SHA256() != "" {
			t.Error("a file that is not finished has a hash")
		}
		want := 0
		if commit {
			want = 1
			if err := w.Commit(); err != nil {
				t.Fatal(err)
			}
		}
		w.Abort()
		w.Abort()
		if names := foldertest.Names(t, dir); len(names) != want || want == 1 && names[0] != "x.wav" {
			t.Errorf("Commit called: %t; the folder holds %q", commit, names)
		}
		if err := w.Write(stages.NewBlock(2, 0)); !errors.Is(err, os.ErrClosed) {
			t.Errorf("a write after the end: %v", err)
		}
		if err := w.Commit(); !errors.Is(err, os.ErrClosed) {
			t.Errorf("a commit after the end: %v", err)
		}
	}
}

func TestOtherNumberOfFrames(t *testing.T) {
	for _, c := range []struct {
		name   string
		blocks []stages.Block
		want   string
	}{
		{"none", nil, "0 frames written of the announced 2"},
		{"fewer", []stages.Block{stages.NewBlock(2, 1)}, "1 frames written of the announced 2"},
		{"more", []stages.Block{stages.NewBlock(2, 1), stages.NewBlock(2, 2)}, "more than the announced 2 frames"},
		{"other channels", []stages.Block{stages.NewBlock(1, 2)}, "a block of 1 channels for a file of 2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "x.wav")
			w, err := Create(path, twoFrames)
			if err != nil {
				t.Fatal(err)
			}
			for _, b := range c.blocks {
				w.Write(b)
			}
			if err := w.Commit(); err == nil || err.Error() != path+": "+c.want {
				t.Errorf("error %v, want %s", err, c.want)
			}
			if names := foldertest.Names(t, dir); len(names) != 0 {
				t.Errorf("the folder holds %q", names)
			}
		})
	}
}

func TestWhatCannotBeWritten(t *testing.T) {
	for _, c := range []struct {
		f    Info
		want string
	}{
		{Info{48000, 2, 1, PCM8, 0}, `encoding "pcm8", want one of ["pcm16" "pcm24" "pcm32" "float32" "float64"]`},
		{
			Info{48000, 2, 1, "pcm20", 0},
			`encoding "pcm20", want one of ["pcm16" "pcm24" "pcm32" "float32" "float64"]`,
		},
		{Info{48000, 0, 1, PCM16, 0}, `0 channels, want 1 to 64`},
		{Info{48000, 65, 1, PCM16, 0}, `65 channels, want 1 to 64`},
		{Info{7999, 2, 1, PCM16, 0}, `sample rate 7999 Hz, want 8000 to 384000`},
		{Info{48000, 2, -1, PCM16, 0}, `-1 frames, want 0 to 1152921504606846975`},
		{Info{48000, 2, 1 << 62, PCM16, 0}, `4611686018427387904 frames, want 0 to 1152921504606846975`},
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, "x.wav")
		if _, err := Create(path, c.f); err == nil || err.Error() != path+": "+c.want {
			t.Errorf("%v: error %v, want %s", c.f, err, c.want)
		}
		if names := foldertest.Names(t, dir); len(names) != 0 {
			t.Errorf("%v: the folder holds %q", c.f, names)
		}
	}
}

func TestWhereNothingCanBeWritten(t *testing.T) {
	dir := t.TempDir()
	if _, err := Create(filepath.Join(dir, "none", "x.wav"), twoFrames); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a folder that is not there: %v", err)
	}
	os.Mkdir(filepath.Join(dir, "x.wav"), 0o700)
	if _, err := Create(filepath.Join(dir, "x.wav"), twoFrames); err == nil ||
		!strings.HasSuffix(err.Error(), "x.wav: it is a folder") {
		t.Errorf("a folder of that name: %v", err)
	}
}

// What goes wrong on the disk names the file that was to be written, and leaves nothing.
func TestFailingDisk(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "x.wav")
	old := []byte("the old file")
	os.WriteFile(path, old, 0o600)
	w, err := Create(path, Info{Rate: 48000, Channels: 2, Frames: bufferBytes, Encoding: PCM24})
	if err != nil {
		t.Fatal(err)
	}
	w.file.Abort() // every write fails from here on
	err = w.Write(stages.NewBlock(2, bufferBytes))
	if err == nil || !strings.HasPrefix(err.Error(), path+": ") {
		t.Errorf("error %v, want one of %s", err, path)
	}
	if again := w.Commit(); again != err {
		t.Errorf("then error %v, want the first again", again)
	}
	if names := foldertest.Names(t, dir); len(names) != 1 || string(bytesOf(t, path)) != string(old) {
		t.Errorf("the folder holds %q", names)
	}
}
