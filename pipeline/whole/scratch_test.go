//go:build unix && !solaris && !illumos && !aix

package whole

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"ledgerline/pipeline/foldertest"
)

// A scratch folder of a process that was killed is cleaned away with all in it, and not while the process
// lives.
func TestKilledScratch(t *testing.T) {
	if folder := os.Getenv("WHOLE_TEST_SCRATCH"); folder != "" {
		s, err := NewScratch(folder)
		if err == nil {
			err = os.WriteFile(filepath.Join(s.Path, "x.wav"), make([]byte, 1<<17), 0o600)
		}
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Print(foldertest.Ready)
		bufio.NewReader(os.Stdin).ReadByte()
		return
	}
	dir := t.TempDir()
	cmd := foldertest.OtherProcess(t, "WHOLE_TEST_SCRATCH="+dir, "-test.run=^TestKilledScratch$")
	if n, err := Clean(dir); n != 0 || err != nil || len(foldertest.Names(t, dir)) != 1 {
		t.Errorf("while it lives: %d cleaned (%v), the folder holds %q", n, err, foldertest.Names(t, dir))
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

func TestScratchIsRemoved(t *testing.T) {
	dir := t.TempDir()
	s, err := NewScratch(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(s.Path, "deep", "er"), 0o777); err != nil {
		t.Fatal(err)
	}
	s.Remove()
	s.Remove()
	if names := foldertest.Names(t, dir); len(names) != 0 {
		t.Errorf("it leaves %q", names)
	}
}
