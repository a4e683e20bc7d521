package release

import (
	"errors"
	"io/fs"
	"os"
	"testing"
)

func TestAStartLeavesWhatIsThere(t *testing.T) {
	inFolder(t)
	write(t, "release.toml", "# mine")
	if err := Start("."); !errors.Is(err, fs.ErrExist) {
		t.Errorf("%v, want that there is one", err)
	}
	if text, _ := os.ReadFile("release.toml"); string(text) != "# mine" {
		t.Errorf("it is now %q", text)
	}
	if _, err := os.Stat("mixes"); err == nil {
		t.Error("mixes was made nonetheless")
	}
	write(t, "taken/mixes", "a file")
	if err := Start("taken"); err == nil {
		t.Error("no error where mixes is a file")
	}
	if _, err := os.Stat("taken/release.toml"); err == nil {
		t.Error("half of a start was left")
	}
}
