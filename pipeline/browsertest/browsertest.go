// Package browsertest is for tests of pages in a browser, Debian's chromium: tabs of one browser for all
// tests of a package, what their pages ask for and what they complain of.
package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A Tab is a page in a browser.
type Tab struct {
	T   *testing.T
	Ctx context.Context

	mu         sync.Mutex
	requests   []string
	complaints []string
}

// Axe is the text of axe-core's script, whose path is in LEDGERLINE_AXE. Without one the test is skipped.
func Axe(t *testing.T) string {
	t.Helper()
	path := os.Getenv("LEDGERLINE_AXE")
	if path == "" {
		t.Skip("LEDGERLINE_AXE names no axe.min.js (npm pack axe-core@4.14.1)")
	}
	axe, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(axe)
}

// errNone is why no browser is started.
var errNone = errors.New("no chromium here: what the page does in a browser is not tested (apt-get install " +
	"--no-install-recommends chromium fonts-dejavu-core)")

var stop = func() {}

var browser = sync.OnceValues(func() (context.Context, error) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, errNone
	}
	ctx, cancel := chromedp.NewContext(context.Background(),
		chromedp.WithAllocatorOptions(chromedp.ExecPath(path)))
	stop = cancel
	return ctx, chromedp.Do(ctx)
})

// Stop ends the browser, if one was started. A TestMain calls it.
func Stop() { stop() }

// Open makes an empty tab of so many pixels that the test has for at most so long, and does something to it.
// Where there is no browser the test is skipped, and says so.
func Open(t *testing.T, width, height int64, most time.Duration,
	before ...chromedp.Action[chromedp.Void]) *Tab {
	t.Helper()
	parent, err := browser()
	if errors.Is(err, errNone) {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	b := &Tab{T: t}
	ctx, cancel := context.WithTimeout(parent, most)
	t.Cleanup(cancel)
	b.Ctx, cancel = chromedp.NewContext(ctx, chromedp.WithListener(b.hear))
	t.Cleanup(cancel)
	b.Do(append([]chromedp.Action[chromedp.Void]{
		Send(network.Enable, network.EnableParams{}), Send(log.Enable, cdp.Empty{}),
		Send(runtime.Enable, cdp.Empty{}), chromedp.EmulateViewport(width, height),
	}, before...)...)
	return b
}

func (b *Tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	case *runtime.EventExceptionThrown:
		text := e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			text += " " + x.Description
		}
		b.complaints = append(b.complaints, text)
	case *runtime.EventConsoleAPICalled:
		b.complaints = append(b.complaints, fmt.Sprint(e.Type, e.Args))
	case *log.EventEntryAdded:
		b.complaints = append(b.complaints, e.Entry.Text)
	}
}

// Requests are the addresses that the page has asked for.
func (b *Tab) Requests() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.requests)
}

// Quiet fails the test if the page complained.
func (b *Tab) Quiet() {
	b.T.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.complaints) > 0 {
		b.T.Errorf("complaints: %q", b.complaints)
	}
}

// Do carries out actions, all of which must succeed.
func (b *Tab) Do(actions ...chromedp.Action[chromedp.Void]) {
	b.T.Helper()
	if err := chromedp.Do(b.Ctx, actions...); err != nil {
		b.T.Fatal(err)
	}
}

// Send is an action that gives the browser a command.
func Send[P, R any](command cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, t, command, params)
		return v, err
	}
}

// Ask evaluates a script in the page and waits for what it promises. The page takes it for something that its
// user did: without that, no audio starts.
func Ask[T any](b *Tab, script string) T {
	b.T.Helper()
	gesture := func(p *runtime.EvaluateParams) { yes := true; p.UserGesture = &yes }
	v, err := chromedp.Run(b.Ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise, gesture))
	if err != nil {
		b.T.Fatalf("%s: %v", script, err)
	}
	return v
}
