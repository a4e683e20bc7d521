package page_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	pdf "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"ledgerline/pipeline/browsertest"
	"ledgerline/stages/stagetest/long"
)

func TestMain(m *testing.M) {
	code := m.Run()
	browsertest.Stop()
	os.Exit(code)
}

// open opens the example's page from a file in a tab of its own, or skips the test where there is no browser.
func open(t *testing.T, before ...chromedp.Action[chromedp.Void]) *browsertest.Tab {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ledger.html")
	if err := os.WriteFile(path, theExample(t).page, 0o666); err != nil {
		t.Fatal(err)
	}
	b := browsertest.Open(t, 1280, 900, 3*time.Minute, before...)
	b.Do(chromedp.Navigate("file://" + path))
	return b
}

// One request, that for the page, and not a word of complaint.
func TestInABrowserItAsksForNothing(t *testing.T) {
	long.Only(t, "drives a browser; TestNoRequest reads what the page would ask for")
	b := open(t)
	if n := browsertest.Ask[int](b, `document.querySelectorAll("svg[role=img]").length`); n < 40 {
		t.Errorf("%d pictures", n)
	}
	if all := b.Requests(); len(all) != 1 || !strings.HasPrefix(all[0], "file://") {
		t.Errorf("it asked for %q", all)
	}
	b.Quiet()
}

// No page is wider than its window, down to 320 px (WCAG 2.2, 1.4.10), with everything folded out.
func TestInABrowserItFits(t *testing.T) {
	inALongRun(t)
	b := open(t)
	browsertest.Ask[bool](b, `for (const d of document.querySelectorAll("details")) d.open = true; true`)
	for _, width := range long.Or([]int64{320, 768, 1280}, []int64{320, 375, 641, 768, 1101, 1280, 1920}) {
		b.Do(chromedp.EmulateViewport(width, 800))
		if got := browsertest.Ask[int64](b, `document.documentElement.scrollWidth`); got > width {
			wide := browsertest.Ask[[]string](b,
				`[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".sr, .skip, .stack > thead"))
				.slice(0, 5).map(e => e.tagName + "." + (e.className.baseVal ?? e.className) + " " + e.textContent.slice(0, 30))`)
			t.Errorf("%d px: it is %d wide: %q", width, got, wide)
		}
	}
}

// The keyboard alone goes through everything in the order of the page; the cursor along the track reads out
// what is recorded.
func TestInABrowserByKeyboard(t *testing.T) {
	inALongRun(t)
	b := open(t)
	want := browsertest.Ask[[]string](b, `[...document.querySelectorAll("a[href], summary, input")].filter(e `+
		`=> e.checkVisibility()).map((e, i) => (e.dataset.n = String(i)))`)
	var got []string
	for range want {
		b.Do(chromedp.KeyEvent("\t"))
		got = append(got,
			browsertest.Ask[string](b, `document.activeElement.dataset.n ?? document.activeElement.tagName`))
	}
	if !slices.Equal(got, want) {
		t.Errorf("tabs go to %v", got)
	}
	if first := browsertest.Ask[string](b, `document.querySelector("[data-n='0']").textContent`); first !=
		"To the figures" {
		t.Errorf("the first is %q", first)
	}
	browsertest.Ask[bool](b, `document.querySelector(".reader input").focus(); true`)
	b.Do(chromedp.KeyEvent(kb.Home))
	for range 3 {
		b.Do(chromedp.KeyEvent(kb.ArrowRight))
	}
	a := theExample(t).records[0]
	text := browsertest.Ask[string](b, `document.querySelector("output").textContent`)
	if browsertest.Ask[string](b, `document.querySelector(".reader input").getAttribute("aria-valuetext")`) !=
		text {
		t.Error("the cursor's text is not told")
	}
	k := browsertest.Ask[int](b, `Number(document.querySelector(".reader input").value)`)
	if k != 3 {
		t.Errorf("Home and three times right lead to column %d", k)
	}
	if out := fmt.Sprintf("own chain: out %.1f dBFS", a.PeakOut[k]); a.PeakOut[k] > -24 &&
		!strings.Contains(strings.ReplaceAll(text, "−", "-"), out) {
		t.Errorf("column %d: %q, want %q", k, text, out)
	}
}

// The cursor reads out the columns that are recorded, wherever it is.
func TestInABrowserTheCursorReadsTheRecord(t *testing.T) {
	inALongRun(t)
	b := open(t)
	a := theExample(t).records[0]
	for k := 5; k < len(a.PeakOut); k += 97 {
		text := browsertest.Ask[string](b,
			fmt.Sprintf(`(() => { const r = document.querySelector(".reader input"); r.value = "%d"; `+
				`r.dispatchEvent(new Event("input")); return document.querySelector("output").textContent })()`, k))
		text = strings.ReplaceAll(text, "−", "-")
		for _, c := range []struct {
			name, unit   string
			level, least float64
		}{
			{"out", "dBFS", a.PeakOut[k], -24}, {"removed", "dB", a.Removed[k], -60},
			{"noise to mask", "dB", a.NoiseToMask[k], -50},
		} {
			m := regexp.MustCompile(`own chain:[^;]*\b` + c.name + ` (none|-?[0-9.]+)`).FindStringSubmatch(text)
			if m == nil {
				t.Fatalf("column %d: no %s in %q", k, c.name, text)
			}
			var got float64
			if _, err := fmt.Sscan(m[1], &got); (err == nil) != (c.level > c.least) ||
				err == nil && (got-c.level > 0.0501 || c.level-got > 0.0501) {
				t.Errorf("column %d: %s %s, recorded %v", k, c.name, m[1], c.level)
			}
		}
	}
}

// Every text, in pictures too, has a contrast of 4.5 to 1 as it is shown, in light and in dark.
func TestInABrowserTextIsReadable(t *testing.T) {
	inALongRun(t)
	for _, scheme := range long.Or([]string{"dark"}, []string{"light", "dark"}) {
		b := open(t, browsertest.Send(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
		}))
		background := browsertest.Ask[string](b, `getComputedStyle(document.body).backgroundColor`)
		if dark := contrast(css(background), [3]float64{}) < 4.5; dark != (scheme == "dark") {
			t.Errorf("%s: the background is %s", scheme, background)
		}
		colours := browsertest.Ask[[]string](b,
			`[...new Set([...document.querySelectorAll("body *")].filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) && !["SCRIPT", "STYLE", "title", "desc"].includes(e.tagName))
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
	inALongRun(t)
	b := open(t)
	yes := true
	printed, err := chromedp.Call(b.Ctx, pdf.PrintToPDF, pdf.PrintToPDFParams{
		PrintBackground: &yes, PreferCSSPageSize: &yes,
	})
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
	inALongRun(t)
	b := open(t, browsertest.Send(emulation.SetScriptExecutionDisabled,
		emulation.SetScriptExecutionDisabledParams{Value: true}))
	b.Do(browsertest.Send(emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{}))
	if browsertest.Ask[bool](b, `document.documentElement.classList.contains("js")`) {
		t.Fatal("the script ran")
	}
	if shown := browsertest.Ask[bool](b, `document.querySelector(".reader").checkVisibility()`); shown {
		t.Error("a cursor that does nothing is shown")
	}
	if !browsertest.Ask[bool](b, `document.querySelector(".waves svg").checkVisibility() && `+
		`document.querySelector(".lane svg").checkVisibility()`) {
		t.Error("a picture is not shown")
	}
}

// A link to a moment of a chain whose list is folded opens it.
func TestInABrowserALinkOpensItsList(t *testing.T) {
	inALongRun(t)
	b := open(t)
	if browsertest.Ask[bool](b, `document.getElementById("t1-2-c1").closest("details").open`) {
		t.Fatal("the list of the second chain is open already")
	}
	b.Do(chromedp.Evaluate[chromedp.Void](`document.querySelector("a[href='#t1-2-c1']").click()`))
	for range 50 {
		if browsertest.Ask[bool](b, `document.getElementById("t1-2-c1").closest("details").open`) {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Error("the list stays folded")
}

// inALongRun skips a test in a browser in a quick run, which has one such test, of the page that plays.
func inALongRun(t *testing.T) {
	t.Helper()
	long.Only(t, "drives a browser; other tests read the same page")
}
