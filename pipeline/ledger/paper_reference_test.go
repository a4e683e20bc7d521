//go:build reference

package ledger

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What a parser of cue sheets reads is what the ledger has (Debian's package cuetools).
func TestACueSheetIsRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), CueName)
	if err := os.WriteFile(path, []byte(discLedger().Paper(CueName, "disc")), 0o666); err != nil {
		t.Fatal(err)
	}
	run := func(name string, args ...string) string {
		t.Helper()
		out, err := exec.Command(name, args...).CombinedOutput()
		if err != nil || strings.Contains(string(out), "error") {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
		return string(out)
	}
	got := run("cueprint", "-d", `%N|%T|%P\n`, "-t", `%n|%t|%p|%i|%f\n`, path)
	want := `3|Night 'Ferry'|The Harbour Lights
1|Lantern|The Harbour Lights|XXLL72600003|03 lantern.wav
2|Quay|The Harbour Lights|XXLL72600001|01 quay.wav
3|02 breakwater|The Harbour Lights||02 breakwater.wav
`
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +read):\n%s", diff)
	}
	var others []string // as another form of such sheets has them: the EAN, and the silence before tracks
	for line := range strings.Lines(run("cueconvert", "-i", "cue", "-o", "toc", path)) {
		if f := strings.Fields(line); len(f) == 2 && (f[0] == "CATALOG" || f[0] == "ZERO") {
			others = append(others, f[1])
		}
	}
	if diff := cmp.Diff([]string{`"6291041500213"`, "00:02:00", "00:00:38"}, others); diff != "" {
		t.Errorf("(-want +read):\n%s", diff)
	}
}
