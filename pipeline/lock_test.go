package pipeline

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"ledgerline/pipeline/coder/codertest"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// TestMain lets the test binary be the other process of a test: one that holds
// the lock of a folder until its standard input ends, one that renders, or a coder.
func TestMain(m *testing.M) {
	if folder := os.Getenv("LEDGERLINE_TEST_HOLD"); folder != "" {
		if _, err := lockFolder(folder); err != nil {
			panic(err)
		}
		fmt.Print(foldertest.Ready)
		_, _ = io.Copy(io.Discard, os.Stdin)
		return
	}
	if path := os.Getenv("LEDGERLINE_TEST_RENDER"); path != "" {
		renderForTest(path)
		return
	}
	if codertest.Asked() {
		codertest.Main()
		return
	}
	debug.SetGCPercent(400) // thousands of short renders: less is collected, and sooner done
	os.Exit(m.Run())
}

// killAtLine has the number of the line of its journal at which a process that
// renders for a test is killed.
const killAtLine = "LEDGERLINE_TEST_KILL_AT_LINE"

// What else a process that renders for a test is told: the part that it renders, and that it writes what was
// removed.
const (
	partOfIt   = "LEDGERLINE_TEST_PART"
	removedToo = "LEDGERLINE_TEST_REMOVED"
)

// renderForTest renders a release and says on standard output what came of it.
func renderForTest(path string) {
	r, err := release.Load(path)
	if err != nil {
		panic(err)
	}
	fmt.Print(foldertest.Ready)
	o := Options{Tool: "ledgerline test", Removed: os.Getenv(removedToo) != ""}
	if text := os.Getenv(partOfIt); text != "" {
		if o.Part, err = fresh.ParsePart(text); err != nil {
			panic(err)
		}
	}
	if at, err := strconv.Atoi(os.Getenv(killAtLine)); err == nil {
		n := 0
		o.Progress = func(e Event) {
			if e.Step != Noted {
				return
			}
			if n++; n == at {
				self, _ := os.FindProcess(os.Getpid())
				_ = self.Kill()
				select {}
			}
		}
	}
	out, err := RenderRelease(context.Background(), r, o)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range out.Results {
		fmt.Println(r.Track, r.State, r.Err)
	}
}

// otherHolder starts a process that holds the folder's lock.
func otherHolder(t *testing.T, folder string) *exec.Cmd {
	t.Helper()
	return foldertest.OtherProcess(t, "LEDGERLINE_TEST_HOLD="+folder)
}

func TestLockFolderIsHeldByOneProcess(t *testing.T) {
	folder := t.TempDir()
	other := otherHolder(t, folder)
	_, err := lockFolder(folder)
	var held *HeldError
	if !errors.As(err, &held) {
		t.Fatalf("lock of a held folder: %v, want a HeldError", err)
	}
	if held.PID != other.Process.Pid || held.Host == "" || held.Since.IsZero() {
		t.Errorf("holder is %+v, want process %d with host and time", held, other.Process.Pid)
	}
	if !strings.Contains(err.Error(), folder) {
		t.Errorf("%q does not name the folder", err)
	}

	// Killed without a chance to tidy up, the process leaves its file but not its lock.
	if err := other.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = other.Wait()
	if _, err := os.Stat(filepath.Join(folder, lockName)); err != nil {
		t.Fatalf("the killed process's file: %v", err)
	}
	release, err := lockFolder(folder)
	if err != nil {
		t.Fatalf("lock after its holder was killed: %v", err)
	}
	release()
	if left, _ := os.ReadDir(folder); len(left) > 0 {
		t.Errorf("%s is left behind", left[0].Name())
	}
}

func TestLockFolderWithinOneProcess(t *testing.T) {
	folder := t.TempDir()
	release, err := lockFolder(folder)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := lockFolder(folder); err == nil {
		t.Fatal("locked twice")
	}
	release()
	release, err = lockFolder(folder)
	if err != nil {
		t.Fatal(err)
	}
	release()
}

func TestLockFolderThatIsNotThere(t *testing.T) {
	if _, err := lockFolder(filepath.Join(t.TempDir(), "none")); !errors.Is(err, os.ErrNotExist) {
		t.Fatalf("got %v, want that the folder does not exist", err)
	}
}

// A holder that ends takes its file away. Whoever opened that file before and locks it
// after has locked nothing: a lock counts only while its file is in the folder.
func TestLockOfAFileThatWasTakenAway(t *testing.T) {
	folder := t.TempDir()
	var inside atomic.Int32
	var g sync.WaitGroup
	for range 4 {
		g.Go(func() {
			for range long.Or(500, 2000) {
				release, err := lockFolder(folder)
				if err != nil {
					continue // another has it
				}
				if inside.Add(1) > 1 {
					t.Error("two hold the lock at once")
				}
				if _, err := os.Stat(filepath.Join(folder, lockName)); err != nil {
					t.Errorf("the lock is held, but: %v", err)
				}
				inside.Add(-1)
				release()
				if t.Failed() {
					return
				}
			}
		})
	}
	g.Wait()
}
