// Package foldertest is for tests of several packages that write into a folder:
// what the folder holds, and another process at work in it.
package foldertest

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Names are the names in a folder, in order; never nil.
func Names(t testing.TB, folder string) []string {
	t.Helper()
	list, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	names := []string{}
	for _, e := range list {
		names = append(names, e.Name())
	}
	return names
}

// CopyExample copies the example at a path into a folder, without the masters of whoever tried the command.
func CopyExample(folder, example string) error {
	if err := os.CopyFS(folder, os.DirFS(example)); err != nil {
		return err
	}
	return os.RemoveAll(filepath.Join(folder, "masters"))
}

// Text is the content of a file.
func Text(t testing.TB, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// Ready is what the other process of a test prints first, once it is at work.
const Ready = "ready\n"

// OtherProcess starts the test binary as another process, with one variable
// more in its environment by which it knows what to do, and waits until it is
// Ready. Its standard input stays open until it is killed, at the latest at the
// end of the test.
func OtherProcess(t testing.TB, env string, args ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env = append(os.Environ(), env)
	if _, err := cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	said := make([]byte, len(Ready))
	if n, err := io.ReadFull(out, said); err != nil || string(said) != Ready {
		t.Fatalf("the other process says %q (%v), want %q", said[:n], err, Ready)
	}
	return cmd
}

// WithoutDeliveries is the example's release file without its deliveries and the variant after them, all
// between two of its comments.
func WithoutDeliveries(text string) string {
	before, after, ok := strings.Cut(text, "# What else is handed over")
	_, after, also := strings.Cut(after, "# A second idea")
	if !ok || !also {
		panic("the example has no deliveries between its comments")
	}
	return before + "# A second idea" + after
}

// OfOneTrack is the example's release file for one of its mixes alone: without the order of all, and without
// tables of the others.
func OfOneTrack(text, track string) string {
	var kept []string
	for block := range strings.SplitSeq(text, "\n\n") {
		lines := slices.DeleteFunc(strings.Split(block, "\n"), func(line string) bool {
			return strings.HasPrefix(line, "order ") || strings.HasPrefix(line, "gaps_s ")
		})
		header := slices.IndexFunc(lines, func(line string) bool { return strings.HasPrefix(line, "[track.") })
		if header < 0 || strings.HasPrefix(lines[header], fmt.Sprintf("[track.%q", track)) {
			kept = append(kept, strings.Join(lines, "\n"))
		}
	}
	return strings.Join(kept, "\n\n")
}
