package listen_test

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"ledgerline/pipeline/release"
)

// The page keeps some seconds of each source, however long the track is and however often the place is
// changed: a hundred seeks add less than 300 MB to the processes that show pages. LISTEN_RELEASE is a release
// to use in place of the usual one, rendered.
func TestInABrowserSeeksKeepNoMemory(t *testing.T) {
	inALongRun(t)
	if runtime.GOOS != "linux" {
		t.Skip("the memory of another process is read from /proc")
	}
	s := serve(t)
	b := open(t, s)
	b.key(" ")
	b.await(position + ` > 0.3`)
	before := shown(t)
	for k := range 100 {
		at := float64(k*37%100) / 100
		ask[bool](b, fmt.Sprintf(`(async () => {
			const p = document.getElementById("position"), to = %v * Number(p.max);
			p.value = to; p.dispatchEvent(new Event("input"));
			const until = performance.now() + 5000;
			while (!(Number(p.value) > to + .02 && Number(p.value) < to + 2) && performance.now() < until) await new Promise(r => setTimeout(r, 5));
			return true;
		})()`, at*.9))
	}
	after := shown(t)
	t.Logf("%d MB before, %d MB after 100 seeks", before, after)
	if after-before > 300 {
		t.Errorf("100 seeks take %d MB more", after-before)
	}
	b.Quiet()
}

// Nor does it keep what was rendered before: thirty rooms one after the other, each of which takes over while
// it plays, add no more than that either. What a page has fetched stays in the browser for a while, so that
// ninety rooms were seen to add as much as thirty, 220 MB.
func TestInABrowserRendersKeepNoMemory(t *testing.T) {
	inALongRun(t)
	if runtime.GOOS != "linux" {
		t.Skip("the memory of another process is read from /proc")
	}
	s := serve(t)
	rel, err := release.Load(filepath.Join(s.folder, "release.toml"))
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, s)
	b.key("n")
	b.key(" ")
	b.await(`document.getElementById("play").textContent === "Pause"`)
	s.renew(rel)
	b.await(`!document.getElementById("renewed").hidden`)
	before := shown(t)
	for range 30 {
		ask[bool](b, `document.getElementById("renewed").hidden = true`)
		s.renew(rel)
		b.await(`!document.getElementById("renewed").hidden`)
	}
	after := shown(t)
	t.Logf("%d MB before, %d MB after 30 rooms", before, after)
	if after-before > 300 {
		t.Errorf("30 rooms take %d MB more", after-before)
	}
	if text := ask[string](b, `document.getElementById("play").textContent + `+
		`document.getElementById("renewed").textContent`); !strings.HasPrefix(text, "Pause") ||
		!strings.Contains(text, "All files of this track are as they were. Place, loop and source") {
		t.Errorf("it says %q", text)
	}
	b.Quiet()
}

// shown is the memory of the processes that show pages, in MB: their proportional set size.
func shown(t *testing.T) (mb int) {
	t.Helper()
	commands, _ := filepath.Glob("/proc/[0-9]*/cmdline")
	n := 0
	for _, c := range commands {
		text, _ := os.ReadFile(c)
		if !strings.Contains(string(text), "--type=renderer") || !descends(filepath.Dir(c)) {
			continue
		}
		n++
		rollup, _ := os.ReadFile(filepath.Join(filepath.Dir(c), "smaps_rollup"))
		for line := range strings.Lines(string(rollup)) {
			if f := strings.Fields(line); len(f) > 1 && f[0] == "Pss:" {
				kb, _ := strconv.Atoi(f[1])
				mb += kb / 1024
			}
		}
	}
	if n == 0 {
		t.Fatal("no process that shows pages is to be seen")
	}
	return mb
}

// descends says whether a process was started by this one or one of its own.
func descends(process string) bool {
	for range 10 {
		stat, err := os.ReadFile(filepath.Join(process, "stat"))
		if err != nil {
			return false
		}
		f := strings.Fields(string(stat[strings.LastIndexByte(string(stat), ')')+1:]))
		if f[1] == strconv.Itoa(os.Getpid()) {
			return true
		}
		process = filepath.Join("/proc", f[1])
	}
	return false
}
