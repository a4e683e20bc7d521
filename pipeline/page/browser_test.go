package page_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	pdf "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A tab is a browser with a page, and what it asked for and complained of.
type tab struct {
	t   *testing.T
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

func TestMain(m *testing.M) {
	code := m.Run()
	stop()
	os.Exit(code)
}

// open opens the example's page from a file in a tab of its own, or skips the test where there is no browser.
func open(t *testing.T, before ...chromedp.Action[chromedp.Void]) *tab {
	t.Helper()
	parent, err := browser()
	if errors.Is(err, errNone) {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "ledger.html")
	if err := os.WriteFile(path, theExample(t).page, 0o666); err != nil {
		t.Fatal(err)
	}
	b := &tab{t: t}
	ctx, cancel := context.WithTimeout(parent, 3*time.Minute)
	t.Cleanup(cancel)
	b.ctx, cancel = chromedp.NewContext(ctx, chromedp.WithListener(b.hear))
	t.Cleanup(cancel)
	b.do(append([]chromedp.Action[chromedp.Void]{
		send(network.Enable, network.EnableParams{}), send(log.Enable, cdp.Empty{}), send(runtime.Enable, cdp.Empty{}), chromedp.EmulateViewport(1280, 900),
	}, before...)...)
	b.do(chromedp.Navigate("file://" + path))
	return b
}

func (b *tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	case *runtime.EventExceptionThrown:
		b.complaints = append(b.complaints, e.ExceptionDetails.Text)
	case *runtime.EventConsoleAPICalled:
		b.complaints = append(b.complaints, fmt.Sprint(e.Type, e.Args))
	case *log.EventEntryAdded:
		b.complaints = append(b.complaints, e.Entry.Text)
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

// ask evaluates a script in the page.
func ask[T any](b *tab, script string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script))
	if err != nil {
		b.t.Fatalf("%s: %v", script, err)
	}
	return v
}

// One request, that for the page, and not a word of complaint.
func TestInABrowserItAsksForNothing(t *testing.T) {
	b := open(t)
	if n := ask[int](b, `document.querySelectorAll("svg[role=img]").length`); n < 40 {
		t.Errorf("%d pictures", n)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.requests) != 1 || !strings.HasPrefix(b.requests[0], "file://") {
		t.Errorf("it asked for %q", b.requests)
	}
	if len(b.complaints) > 0 {
		t.Errorf("complaints: %q", b.complaints)
	}
}

// No page is wider than its window, down to 320 px (WCAG 2.2, 1.4.10), with everything folded out.
func TestInABrowserItFits(t *testing.T) {
	b := open(t)
	ask[bool](b, `for (const d of document.querySelectorAll("details")) d.open = true; true`)
	for _, width := range []int64{320, 375, 641, 768, 1101, 1280, 1920} {
		b.do(chromedp.EmulateViewport(width, 800))
		if got := ask[int64](b, `document.documentElement.scrollWidth`); got > width {
			wide := ask[[]string](b, `[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".sr, .skip, .stack > thead"))
				.slice(0, 5).map(e => e.tagName + "." + (e.className.baseVal ?? e.className) + " " + e.textContent.slice(0, 30))`)
			t.Errorf("%d px: it is %d wide: %q", width, got, wide)
		}
	}
}

// The keyboard alone goes through everything in the order of the page; the cursor along the track reads out what is recorded.
func TestInABrowserByKeyboard(t *testing.T) {
	b := open(t)
	want := ask[[]string](b, `[...document.querySelectorAll("a[href], summary, input")].filter(e => e.checkVisibility()).map((e, i) => (e.dataset.n = String(i)))`)
	var got []string
	for range want {
		b.do(chromedp.KeyEvent("\t"))
		got = append(got, ask[string](b, `document.activeElement.dataset.n ?? document.activeElement.tagName`))
	}
	if !slices.Equal(got, want) {
		t.Errorf("tabs go to %v", got)
	}
	if first := ask[string](b, `document.querySelector("[data-n='0']").textContent`); first != "To the figures" {
		t.Errorf("the first is %q", first)
	}
	ask[bool](b, `document.querySelector(".reader input").focus(); true`)
	b.do(chromedp.KeyEvent("\ue011")) // Home
	for range 3 {
		b.do(chromedp.KeyEvent("\ue014")) // right
	}
	a := theExample(t).records[0]
	text := ask[string](b, `document.querySelector("output").textContent`)
	if ask[string](b, `document.querySelector(".reader input").getAttribute("aria-valuetext")`) != text {
		t.Error("the cursor's text is not told")
	}
	k := ask[int](b, `Number(document.querySelector(".reader input").value)`)
	if out := fmt.Sprintf("own chain: out %.1f dBFS", a.PeakOut[k]); a.PeakOut[k] > -24 && !strings.Contains(strings.ReplaceAll(text, "−", "-"), out) {
		t.Errorf("column %d: %q, want %q", k, text, out)
	}
}

// The cursor reads out the columns that are recorded, wherever it is.
func TestInABrowserTheCursorReadsTheRecord(t *testing.T) {
	b := open(t)
	a := theExample(t).records[0]
	for k := 5; k < len(a.PeakOut); k += 97 {
		text := ask[string](b, fmt.Sprintf(`(() => { const r = document.querySelector(".reader input"); r.value = "%d"; r.dispatchEvent(new Event("input")); return document.querySelector("output").textContent })()`, k))
		text = strings.ReplaceAll(text, "−", "-")
		for _, c := range []struct {
			name, unit   string
			level, least float64
		}{{"out", "dBFS", a.PeakOut[k], -24}, {"removed", "dB", a.Removed[k], -60}, {"noise to mask", "dB", a.NoiseToMask[k], -50}} {
			m := regexp.MustCompile(`own chain:[^;]*\b` + c.name + ` (none|-?[0-9.]+)`).FindStringSubmatch(text)
			if m == nil {
				t.Fatalf("column %d: no %s in %q", k, c.name, text)
			}
			var got float64
			if _, err := fmt.Sscan(m[1], &got); (err == nil) != (c.level > c.least) || err == nil && (got-c.level > 0.0501 || c.level-got > 0.0501) {
				t.Errorf("column %d: %s %s, recorded %v", k, c.name, m[1], c.level)
			}
		}
	}
}

// Every text, in pictures too, has a contrast of 4.5 to 1 as it is shown, in light and in dark.
func TestInABrowserTextIsReadable(t *testing.T) {
	for _, scheme := range []string{"light", "dark"} {
		b := open(t, send(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}))
		background := ask[string](b, `getComputedStyle(document.body).backgroundColor`)
		if dark := contrast(css(background), [3]float64{}) < 4.5; dark != (scheme == "dark") {
			t.Errorf("%s: the background is %s", scheme, background)
		}
		colours := ask[[]string](b, `[...new Set([...document.querySelectorAll("body *")].filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) && !["SCRIPT", "STYLE", "title", "desc"].includes(e.tagName))
			.map(e => e instanceof SVGElement ? getComputedStyle(e).fill : getComputedStyle(e).color))]`)
		if len(colours) < 4 {
			t.Errorf("%s: only %v", scheme, colours)
		}
		for _, c := range colours {
			if got := contrast(css(c), css(background)); got < 4.5 {
				t.Errorf("%s: %s on %s has %.2f to 1", scheme, c, background, got)
			}
		}
	}
}

// css is a colour as a browser tells it: "rgb(20, 23, 27)".
func css(text string) (c [3]float64) {
	var v [3]float64
	fmt.Sscanf(text, "rgb(%f, %f, %f)", &v[0], &v[1], &v[2])
	for i := range v {
		c[i] = v[i] / 255
	}
	return c
}

// It is printed on A4 across: 297 by 210 mm, 841.9 by 595.3 points.
func TestInABrowserPrint(t *testing.T) {
	b := open(t)
	yes := true
	printed, err := chromedp.Call(b.ctx, pdf.PrintToPDF, pdf.PrintToPDFParams{PrintBackground: &yes, PreferCSSPageSize: &yes})
	if err != nil {
		t.Fatal(err)
	}
	boxes := regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`).FindAllSubmatch(printed.Data, -1)
	if len(boxes) == 0 || len(boxes) > 8 {
		t.Fatalf("%d sheets of paper", len(boxes))
	}
	for _, m := range boxes {
		var w, h float64
		fmt.Sscan(string(m[1]), &w)
		fmt.Sscan(string(m[2]), &h)
		if w < 841 || w > 843 || h < 594 || h > 596 {
			t.Errorf("a sheet of %v by %v points", w, h)
		}
	}
}

// Without its script the page says the same; only the cursor is not there.
func TestInABrowserWithoutScript(t *testing.T) {
	b := open(t, send(emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}))
	b.do(send(emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{}))
	if ask[bool](b, `document.documentElement.classList.contains("js")`) {
		t.Fatal("the script ran")
	}
	if shown := ask[bool](b, `document.querySelector(".reader").checkVisibility()`); shown {
		t.Error("a cursor that does nothing is shown")
	}
	if !ask[bool](b, `document.querySelector(".waves svg").checkVisibility() && document.querySelector(".lane svg").checkVisibility()`) {
		t.Error("a picture is not shown")
	}
}

// A link to a moment of a chain whose list is folded opens it.
func TestInABrowserALinkOpensItsList(t *testing.T) {
	b := open(t)
	if ask[bool](b, `document.getElementById("t1-2-c1").closest("details").open`) {
		t.Fatal("the list of the second chain is open already")
	}
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("a[href='#t1-2-c1']").click()`))
	for range 50 {
		if ask[bool](b, `document.getElementById("t1-2-c1").closest("details").open`) {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Error("the list stays folded")
}
