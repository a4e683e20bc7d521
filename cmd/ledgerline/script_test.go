package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/coder/codertest"
	"ledgerline/stages/stagetest/long"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"ledgerline": main, "testcoder": codertest.Main})
}

// TestScripts runs the program as a shell does. Each script is named after
// what it shows.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"mix":       makeMix,
			"status":    status,
			"interrupt": interrupt,
			"plain":     plain,
			"waitfor":   waitFor,
		},
		// A script that begins with [!long] skip is for long runs only.
		Condition: func(name string) (bool, error) {
			if name != "long" {
				return false, fmt.Errorf("no condition %q", name)
			}
			return long.Wanted(), nil
		},
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("TERM", "xterm-256color")
			return nil
		},
	})
}

// makeMix writes a WAV file: mix FILE [KEY=VALUE]... . Its channels are sines
// of different pitch and of the given level, fading at the end. Unless it says otherwise they are two, and
// one in a quick run.
func makeMix(ts *testscript.TestScript, _ bool, args []string) {
	m := map[string]string{
		"frames": "8000", "level": "0.5", "encoding": "pcm24", "channels": long.Or("1", "2"), "rate": "8000",
		"first": "", "clip": "99",
	}
	for _, a := range args[1:] {
		key, value, ok := strings.Cut(a, "=")
		if _, known := m[key]; !ok || !known {
			ts.Fatalf("mix: %q?", a)
		}
		m[key] = value
	}
	number := func(key string) float64 {
		x, err := strconv.ParseFloat(m[key], 64)
		ts.Check(err)
		return x
	}
	odd := 0.0
	if m["first"] != "" {
		odd = number("first")
	}
	info := audiofile.Info{
		Rate: int(number("rate")), Channels: int(number("channels")), Frames: int64(number("frames")),
		Encoding: audiofile.Encoding(m["encoding"]),
	}
	level, clip := number("level"), number("clip")
	ts.Check(mixtest.Write(ts.MkAbs(args[0]), info, func(c int, n int64) float64 {
		if m["first"] != "" && c == 0 && n == 100 {
			return odd
		}
		fade := min(1, float64(info.Frames-1-n)/100)
		v := fade * level * math.Sin(float64(n)*(0.3+0.1*float64(c)))
		return max(min(v, clip), -clip)
	}))
}

// status runs a command that must end with an exit code: status CODE COMMAND... .
func status(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// interrupt sends a signal to ledgerline once a file is being written into a
// folder, and expects its exit code: interrupt SIGNAL CODE FOLDER ARGUMENT... .
// The render would take far longer than this waits for it to stop.
func interrupt(ts *testscript.TestScript, _ bool, args []string) {
	sig := map[string]syscall.Signal{"INT": syscall.SIGINT, "TERM": syscall.SIGTERM,
		"HUP": syscall.SIGHUP}[args[0]]
	hup := make(chan os.Signal, 1)
	// Under nohup too, the program starts as with a terminal.
	signal.Notify(hup, syscall.SIGHUP)
	defer signal.Stop(hup)
	self, err := os.Executable()
	ts.Check(err)
	var said strings.Builder
	c := &exec.Cmd{
		Path: self, Args: append([]string{"ledgerline"}, args[3:]...), Dir: ts.MkAbs("."), Stderr: &said,
	}
	ts.Check(c.Start())
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	for tries := 0; ; tries++ {
		if found, _ := filepath.Glob(ts.MkAbs(args[2]) + "/.ledgerline-*.part"); len(found) > 0 {
			break
		}
		if tries > 2000 {
			_ = c.Process.Kill()
			ts.Fatalf("nothing is being written: %s", said.String())
		}
		time.Sleep(5 * time.Millisecond)
	}
	ts.Check(c.Process.Signal(sig))
	select {
	case <-ended:
	case <-time.After(10 * time.Second):
		_ = c.Process.Kill()
		ts.Fatalf("it goes on after the signal")
	}
	if got := fmt.Sprint(c.ProcessState.ExitCode()); got != args[1] {
		ts.Fatalf("exit code %s, want %s: %s", got, args[1], said.String())
	}
	_, err = fmt.Fprint(ts.Stderr(), said.String())
	ts.Check(err)
}

// plain fails if the last output has control codes in it: plain stdout|stderr.
func plain(ts *testscript.TestScript, _ bool, args []string) {
	for _, name := range args {
		if text := ts.ReadFile(name); strings.ContainsFunc(text, func(r rune) bool {
			return r < ' ' && r != '\n'
		}) {
			ts.Fatalf("%s has control codes: %q", name, text)
		}
	}
}

// waitFor waits until a text is in a file: waitfor FILE TEXT.
func waitFor(ts *testscript.TestScript, _ bool, args []string) {
	for range 2000 {
		if text, err := os.ReadFile(ts.MkAbs(args[0])); err == nil && strings.Contains(string(text), args[1]) {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	ts.Fatalf("%s does not come to say %q: %s", args[0], args[1], ts.ReadFile(args[0]))
}
