package coder

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"
)

// A process is how a program is run: in a folder of its own and in a process group of its own, which is ended
// with it, for a limited time, and with a limit to what it writes into the folder. It reads nothing from a
// terminal.
type process struct {
	dir    string
	limit  time.Duration
	most   int64     // bytes in the folder
	spared string    // a file in it that does not count
	out    io.Writer // what the program prints on its standard output, besides; nil: nobody wants it

	named *strings.Replacer // paths as the release file names them; nil: as they are
	said  string            // what the programs that ended well have printed, a step each
}

const (
	grace = 2 * time.Second // between being asked to end and being killed
	watch = 50 * time.Millisecond
)

var (
	errTooLong = errors.New("time limit")
	errTooMuch = errors.New("size limit")
)

// run runs a program to its end. What names the step in errors: encode, decode.
func (p *process) run(ctx context.Context, what, path string, args []string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	running, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	timer := time.AfterFunc(p.limit, func() { stop(errTooLong) })
	defer timer.Stop()
	cmd := exec.CommandContext(running, path, args...)
	said := &tail{}
	cmd.Dir, cmd.Stdout, cmd.Stderr = p.dir, said, said
	if p.out != nil {
		cmd.Stdout = p.out
	}
	cmd.Env = append(os.Environ(), "TMPDIR="+p.dir)
	cmd.WaitDelay = grace
	apart(cmd)
	cmd.Cancel = func() error { return ask(cmd) }
	watched := make(chan struct{})
	go func() {
		defer close(watched)
		p.watch(running, stop)
	}()
	err := start(cmd)
	cause := context.Cause(running)
	stop(nil)
	<-watched
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case cause == nil && p.size() > p.most:
		cause = errTooMuch
	}
	name := filepath.Base(path)
	command := p.asNamed(Command(append([]string{name}, args...)) + said.String())
	switch {
	case errors.Is(cause, errTooLong):
		return fmt.Errorf("%s: %q did not end within %v s and was ended; raise time_limit_s, or see what it "+
			"waits for: %s", what, name, p.limit.Seconds(), command)
	case errors.Is(cause, errTooMuch):
		return fmt.Errorf("%s: %q wrote more than %d MB, far more than the delivery has, and was ended; see what "+
			"it writes: %s", what, name, p.most>>20, command)
	case err != nil && !errors.Is(err, exec.ErrWaitDelay):
		return fmt.Errorf("%s: %q failed: %w; try it by itself, with paths of your own: %s", what, name,
			err, command)
	}
	if len(said.text) > 0 {
		p.said += fmt.Sprintf("\n  %s printed:%s", what, p.asNamed(said.String()))
	}
	return nil
}

func (p *process) asNamed(text string) string {
	if p.named == nil {
		return text
	}
	return p.named.Replace(text)
}

// start runs a command to its end, and ends what is left of its group. Its thread stays, since the command's
// life may hang on it.
func start(cmd *exec.Cmd) error {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	if err := cmd.Start(); err != nil {
		return err
	}
	err := cmd.Wait()
	end(cmd)
	return err
}

// watch stops a run that writes too much.
func (p *process) watch(ctx context.Context, stop context.CancelCauseFunc) {
	tick := time.NewTicker(watch)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			if p.size() > p.most {
				stop(errTooMuch)
				return
			}
		}
	}
}

// size is how many bytes are in the folder.
func (p *process) size() (bytes int64) {
	_ = filepath.WalkDir(p.dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || path == p.spared {
			return nil
		}
		if info, err := e.Info(); err == nil {
			bytes += info.Size()
		}
		return nil
	})
	return bytes
}

// Command is a program and its arguments as a person reads them.
func Command(args []string) string {
	var words []string
	for _, a := range args {
		if a == "" || strings.ContainsAny(a, " \t\n'\"\\$&;|<>()*?[]!#~`") || plain(a) != a {
			a = strconv.Quote(a)
		}
		words = append(words, a)
	}
	return strings.Join(words, " ")
}

// mostSaid is how much of what a program prints is kept, in bytes: its end.
const mostSaid = 2000

// mostLines is how many lines of it are shown, the last ones.
const mostLines = 8

// tail keeps the end of what is written to it.
type tail struct {
	text []byte
	cut  bool
}

func (t *tail) Write(p []byte) (int, error) {
	t.text = append(t.text, p[max(0, len(p)-2*mostSaid):]...)
	if over := len(t.text) - mostSaid; over > 0 {
		t.text, t.cut = append(t.text[:0], t.text[over:]...), true
	}
	return len(p), nil
}

// String is what a program has printed, set in, after a line's end; nothing if it printed nothing.
func (t *tail) String() string {
	text := strings.TrimSpace(strings.ToValidUTF8(string(t.text), "?"))
	if text == "" {
		return "\n    it printed nothing"
	}
	lines := strings.Split(text, "\n")
	var b strings.Builder
	if over := len(lines) - mostLines; over > 0 || t.cut {
		lines = lines[max(0, over):]
		b.WriteString("\n    ...")
	}
	for _, line := range lines {
		b.WriteString("\n    " + plain(strings.TrimRight(line, "\r")))
	}
	return b.String()
}
