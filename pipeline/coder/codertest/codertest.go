// Package codertest has a program that tests declare as a coder: the test binary itself, which TestMain hands
// over to Main.
package codertest

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/stages"
)

// asked is the variable in the environment by which a test binary knows that it is to be the program.
const asked = "LEDGERLINE_TEST_CODER"

// Version is what the program says of itself, unless the test gives it another.
const Version = "testcoder 1.0"

// Asked says whether this process is to be the program.
func Asked() bool { return os.Getenv(asked) != "" }

// Use has the processes that a test starts from now on be the program, of that version; empty: it tells none.
func Use(t *testing.T, version string) {
	t.Setenv(asked, "version "+version)
}

// Program is the program's path, with a way to code and the rest of its arguments:
//
//	copy FROM TO           copies a file
//	scale BY FROM TO       multiplies all samples
//	over BY LEVEL FROM TO  multiplies those beyond a magnitude
//	delay FRAMES FROM TO   puts silence before the audio, or takes frames away
//	spike LEVEL FROM TO    has one sample of that value, whatever the others are
//	short FRAMES FROM TO   takes frames from the end
//	noise FROM TO          is something else altogether
//	mono FROM TO           has the first channel alone
//	rate HZ FROM TO        says that it has another rate
//	touch FROM TO          copies a file, and writes over the one that it was given
//	text FROM TO           is no audio
//	fail, hang, stay       fails; waits for ever; does so even if it is asked to end
//	nothing                ends well, and writes nothing
//	endless FROM TO        writes for ever
//	leave PIDFILE FROM TO  copies a file, and leaves a process of its group waiting, whose number it writes
func Program(way string, args ...string) []string {
	return append([]string{os.Args[0], way}, args...)
}

// Main is the program.
func Main() {
	if len(os.Args) < 2 {
		os.Exit(2)
	}
	switch os.Args[1] {
	case "--version":
		os.Exit(2) // as a program that does not know it
	case "-version":
		if version := strings.TrimPrefix(os.Getenv(asked), "version "); version != "" {
			fmt.Println(version)
		}
		return
	}
	if err := code(os.Args[1], os.Args[2:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(3)
	}
}

func code(way string, args []string) error {
	switch way {
	case "nothing":
		return nil
	case "fail":
		for i := range 2000 {
			fmt.Printf("line %d of what it prints\n", i)
		}
		return fmt.Errorf("\x1b[31mthe reason\x1b[m why it failed")
	case "stay":
		signal.Ignore(syscall.SIGTERM)
		fallthrough
	case "hang":
		time.Sleep(time.Hour)
	case "wait":
		_ = os.WriteFile(args[0], []byte(strconv.Itoa(os.Getpid())), 0o666)
		time.Sleep(time.Hour)
	}
	if len(args) < 2 {
		return fmt.Errorf("%s: %d arguments", way, len(args))
	}
	from, to, by := args[len(args)-2], args[len(args)-1], 0.0
	if len(args) > 2 && way != "leave" {
		var err error
		if by, err = strconv.ParseFloat(args[0], 64); err != nil {
			return err
		}
	}
	switch way {
	case "copy":
		return copyFile(from, to)
	case "text":
		return os.WriteFile(to, []byte("this is no audio"), 0o666)
	case "touch":
		if err := copyFile(from, to); err != nil {
			return err
		}
		return os.WriteFile(from, []byte("written over"), 0o666)
	case "endless":
		return endless(to)
	case "leave":
		c := exec.Command(os.Args[0], "wait", args[0])
		if err := c.Start(); err != nil {
			return err
		}
		return copyFile(from, to)
	}
	return change(way, by, args, from, to)
}

func copyFile(from, to string) error {
	text, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	return os.WriteFile(to, text, 0o666)
}

func endless(to string) error {
	f, err := os.Create(to)
	if err != nil {
		return err
	}
	for some := make([]byte, 1<<20); ; {
		if _, err := f.Write(some); err != nil {
			return err
		}
	}
}

// change writes a file whose samples are others.
func change(way string, by float64, args []string, from, to string) error {
	r, err := audiofile.Open(from)
	if err != nil {
		return err
	}
	defer r.Close()
	f := r.Info()
	b := stages.NewBlock(f.Channels, int(f.Frames))
	if _, err := r.Read(b); err != nil && err != io.EOF {
		return err
	}
	f.Encoding = audiofile.Float64
	shift := int64(0)
	tune := func(c int, n int64) float64 { return b[c][n] }
	switch way {
	case "scale":
		tune = func(c int, n int64) float64 { return by * b[c][n] }
	case "over":
		level, err := strconv.ParseFloat(args[1], 64)
		if err != nil {
			return err
		}
		tune = func(c int, n int64) float64 {
			if v := b[c][n]; v > level || v < -level {
				return by * v
			}
			return b[c][n]
		}
	case "delay":
		shift = int64(by)
		f.Frames += shift
	case "spike":
		tune = func(c int, n int64) float64 {
			if n == 5000 {
				return by
			}
			return b[c][n]
		}
	case "short":
		f.Frames -= int64(by)
	case "noise":
		fmt.Println("only noise")
		tune = func(c int, n int64) float64 {
			x := uint64(n)*0x9e3779b97f4a7c15 + uint64(c)
			x ^= x >> 29
			x *= 0xbf58476d1ce4e5b9
			return float64(int64(x)) / (1 << 63)
		}
	case "mono":
		f.Channels, f.Mask = 1, 0
	case "rate":
		f.Rate = int(by)
	default:
		return fmt.Errorf("%q is no way to code", way)
	}
	return mixtest.Write(to, f, func(c int, n int64) float64 {
		if n -= shift; n < 0 {
			return 0
		}
		return tune(c, n)
	})
}
