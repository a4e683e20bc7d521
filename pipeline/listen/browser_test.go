package listen_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A tab is a page in a browser, what it asked for and what it complained of.
type tab struct {
	*scene
	ctx context.Context

	mu         sync.Mutex
	requests   []string
	complaints []string
}

// errNone is why no browser is started.
var errNone = errors.New("no chromium here: what the page does in a browser is not tested (apt-get install --no-install-recommends chromium fonts-dejavu-core)")

// stop ends the browser, if one was started.
var stop = func() {}

// browser starts one for all tests.
var browser = sync.OnceValues(func() (context.Context, error) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, errNone
	}
	ctx, cancel := chromedp.NewContext(context.Background(), chromedp.WithAllocatorOptions(chromedp.ExecPath(path)))
	stop = cancel
	return ctx, chromedp.Do(ctx)
})

// open opens the page in a tab of its own, or skips the test where there is no browser.
func open(t *testing.T, s *scene) *tab {
	t.Helper()
	parent, err := browser()
	if errors.Is(err, errNone) {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	b := &tab{scene: s}
	ctx, cancel := context.WithTimeout(parent, 2*time.Minute)
	t.Cleanup(cancel)
	b.ctx, cancel = chromedp.NewContext(ctx, chromedp.WithListener(b.hear))
	t.Cleanup(cancel)
	b.do(send(network.Enable, network.EnableParams{}), send(log.Enable, cdp.Empty{}), send(runtime.Enable, cdp.Empty{}), chromedp.EmulateViewport(1100, 900))
	b.do(chromedp.Navigate(s.url))
	b.await(`!document.getElementById("room").hidden`)
	return b
}

func (b *tab) hear(event any) {
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

// quiet fails the test if the page complained.
func (b *tab) quiet() {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.complaints) > 0 {
		b.t.Errorf("complaints: %q", b.complaints)
	}
}

func (b *tab) do(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, actions...); err != nil {
		b.t.Fatal(err)
	}
}

// send is an action that gives the browser a command.
func send[P, R any](command cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, t, command, params)
		return v, err
	}
}

// gesture has the page take a script for something that its user did: without, no audio starts.
func gesture(p *runtime.EvaluateParams) {
	yes := true
	p.UserGesture = &yes
}

// ask evaluates a script in the page, as its user's doing.
func ask[T any](b *tab, script string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise, gesture))
	if err != nil {
		b.t.Fatalf("%s: %v", script, err)
	}
	return v
}

// await waits until a script is true.
func (b *tab) await(script string) {
	b.t.Helper()
	for range 400 {
		if ask[bool](b, script) {
			return
		}
		time.Sleep(25 * time.Millisecond)
	}
	b.t.Fatalf("it never is: %s; the page says %q", script, ask[string](b, `document.getElementById("status").textContent`))
}

// shot keeps a picture of the page in the folder that the environment names, to be looked at.
func (b *tab) shot(name string) {
	folder := os.Getenv("LISTEN_SHOTS")
	if folder == "" {
		return
	}
	yes := true
	p, err := chromedp.Call(b.ctx, cdppage.CaptureScreenshot, cdppage.CaptureScreenshotParams{CaptureBeyondViewport: &yes})
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, name+".png"), p.Data, 0o666); err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) key(keys string) { b.t.Helper(); b.do(chromedp.KeyEvent(keys)) }

const position = `Number(document.getElementById("position").value)`

func TestInABrowserItPlaysAndSwitches(t *testing.T) {
	b := open(t, serve(t))
	b.shot("start")
	b.key(" ")
	b.await(position + ` > 0.5`)
	b.key("2")
	if got := ask[string](b, `document.querySelector("#sources [aria-pressed=true]").textContent`); got[:2] != "2o" {
		t.Errorf("after the key 2 %q is heard", got)
	}
	b.shot("playing")
	if got := ask[string](b, `document.getElementById("rate").textContent`); got == "" {
		t.Error("the rate is not shown")
	}
	b.key(" ")
	b.await(`document.getElementById("play").textContent === "Play"`)
	b.quiet()
}
