package fresh

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestSettled(t *testing.T) {
	at := time.Unix(1000, 500e6)
	ns := func(d time.Duration) int64 { return at.Add(d).UnixNano() }
	for _, c := range []struct {
		name string
		s    stamp
		want bool
	}{
		{"written long ago", stamp{Written: ns(-time.Hour)}, true},
		{"written a clock tick ago", stamp{Written: ns(-fineTick)}, false},
		{"written just before that", stamp{Written: ns(-fineTick - 1)}, true},
		{"written in the future", stamp{Written: ns(time.Hour)}, false},
		{"set back but changed now", stamp{Written: ns(-time.Hour), Changed: ns(0)}, false},
		{"whole seconds, one and a half ago", stamp{Written: time.Unix(999, 0).UnixNano()}, false},
		{"whole seconds, two and a half ago", stamp{Written: time.Unix(998, 0).UnixNano()}, true},
	} {
		if got := c.s.settled(at); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// A file that is changed in the very tick of the clock in which it was hashed
// keeps its stamp, so that nobody could tell by that.
func TestHashOfAFileChangedWithinAClockTick(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "mix")
	s := loadSeen(folder)
	for n := range 200 {
		if err := os.WriteFile(path, []byte{byte(n)}, 0o666); err != nil {
			t.Fatal(err)
		}
		got, err := s.Hash(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		again, err := loadSeen(t.TempDir()).Hash(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		if got.SHA256 != again.SHA256 {
			t.Fatalf("write %d: an old hash", n)
		}
		s.Save([]string{path})
		s = loadSeen(folder)
	}
}

// What is known is not read again: here what is known is wrong.
func TestKnownHashesAreTrusted(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "mix")
	if err := os.WriteFile(path, []byte("long ago"), 0o666); err != nil {
		t.Fatal(err)
	}
	time.Sleep(2 * fineTick)
	s := loadSeen(folder)
	x, err := s.Hash(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	s.Save([]string{path})
	name := filepath.Join(folder, StateName)
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(strings.Replace(string(text), x.SHA256, "known", 1)),
		0o666); err != nil {
		t.Fatal(err)
	}
	if x, err := loadSeen(folder).Hash(t.Context(), path); err != nil || x.SHA256 != "known" {
		t.Errorf("got %q, %v: the file was read again", x.SHA256, err)
	}
	if err := os.WriteFile(path, []byte("just now"), 0o666); err != nil {
		t.Fatal(err)
	}
	if x, err := loadSeen(folder).Hash(t.Context(), path); err != nil || x.SHA256 == "known" {
		t.Errorf("got %q, %v after a change of the file", x.SHA256, err)
	}
}
