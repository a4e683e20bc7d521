package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What README shows of a session is what the program prints.
func TestReadmeShowsTheSessionAsItIs(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	const command = "    $ ledgerline render examples/night-ferry/release.toml\n"
	_, shown, ok := strings.Cut(string(text), command)
	if !ok {
		t.Fatalf("README.md has no %q", command)
	}
	folder := t.TempDir()
	if err := os.CopyFS(folder, os.DirFS("../../examples/night-ferry")); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Join(folder, "masters")); err != nil { // of whoever tried the command
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	args := []string{"render", filepath.Join(folder, "release.toml")}
	if code := run(args, &streams{in: strings.NewReader(""), out: &out, err: &errs}); code != exitDone {
		t.Fatalf("exit code %d\n%s%s", code, &out, &errs)
	}
	var want strings.Builder
	for line := range strings.Lines(out.String()) {
		if strings.TrimSpace(line) != "" {
			want.WriteString("    ")
		}
		want.WriteString(line)
	}
	if !strings.HasPrefix(shown, want.String()) {
		t.Errorf("README.md's session is out of date; want\n%s", &want)
	}
}
