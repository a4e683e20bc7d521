package listen_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"ledgerline/pipeline/browsertest"
	"ledgerline/stages/stagetest/long"
)

// A tab has the page of a scene.
type tab struct {
	*scene
	*browsertest.Tab
}

// open opens the page in a tab of its own, or skips the test where there is no browser.
func open(t *testing.T, s *scene) *tab {
	t.Helper()
	b := &tab{s, browsertest.Open(t, 1100, 900, 2*time.Minute)}
	b.Do(chromedp.Navigate(s.url))
	b.await(`!document.getElementById("room").hidden`)
	return b
}

// ask evaluates a script in the page, as its user's doing.
func ask[T any](b *tab, script string) T {
	b.t.Helper()
	return browsertest.Ask[T](b.Tab, script)
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
	b.t.Fatalf("it never is: %s; the page says %q", script,
		ask[string](b, `document.getElementById("status").textContent`))
}

// shot keeps a picture of the page in the folder that the environment names, to be looked at.
func (b *tab) shot(name string) {
	folder := os.Getenv("LISTEN_SHOTS")
	if folder == "" {
		return
	}
	yes := true
	p, err := chromedp.Call(b.Ctx, cdppage.CaptureScreenshot,
		cdppage.CaptureScreenshotParams{CaptureBeyondViewport: &yes})
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, name+".png"), p.Data, 0o666); err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) key(keys string) { b.t.Helper(); b.Do(chromedp.KeyEvent(keys)) }

const position = `Number(document.getElementById("position").value)`

func TestInABrowserItPlaysAndSwitches(t *testing.T) {
	inALongRun(t)
	b := open(t, serve(t))
	b.shot("start")
	b.key(" ")
	b.await(position + ` > 0.5`)
	b.key("2")
	if got := ask[string](b, `document.querySelector("#sources [aria-pressed=true]").textContent`); got[:2] !=
		"2o" {
		t.Errorf("after the key 2 %q is heard", got)
	}
	b.shot("playing")
	if got := ask[string](b, `document.getElementById("rate").textContent`); got == "" {
		t.Error("the rate is not shown")
	}
	b.key(" ")
	b.await(`document.getElementById("play").textContent === "Play"`)
	for _, address := range b.Requests() {
		if !strings.HasPrefix(address, b.url) && address != "data:," {
			t.Errorf("it asks for %s", address)
		}
	}
	b.Quiet()
}

// inALongRun skips a test in a browser in a quick run: a browser alone takes a second of processor time.
func inALongRun(t *testing.T) {
	t.Helper()
	long.Only(t, "drives a browser")
}
