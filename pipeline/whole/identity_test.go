package whole

import (
	"os"
	"path/filepath"
	"testing"
)

// Files are found through links and under other names, and others are not, as os.SameFile has it.
func TestFilesAreFoundByWhatTheyAre(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	for _, name := range []string{"a", "b", "c"} {
		os.WriteFile(at(name), nil, 0o600)
	}
	if err := os.Link(at("a"), at("hard")); err != nil {
		t.Skip(err)
	}
	os.Symlink(at("b"), at("soft"))
	var f Files
	if info, _ := os.Stat(at("c")); f.Find(info) != -1 {
		t.Error("found in nothing")
	}
	for _, name := range []string{"a", "b", "hard"} {
		info, _ := os.Stat(at(name))
		f.Add(info)
	}
	for name, want := range map[string]int{"a": 0, "hard": 0, "b": 1, "soft": 1, "c": -1} {
		info, err := os.Stat(at(name))
		if err != nil {
			t.Fatal(err)
		}
		if got := f.Find(info); got != want {
			t.Errorf("%s is %d, want %d", name, got, want)
		}
	}
}
