package page_test

import (
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"ledgerline/pipeline/browsertest"
)

// No rule of axe-core is broken, in light and in dark, wide and narrow, with everything folded out.
// LEDGERLINE_AXE is the path of its axe.min.js; it leaves the contrast of text in pictures open, which
// TestInABrowserTextIsReadable closes.
func TestInABrowserByTheRulesOfAxe(t *testing.T) {
	inALongRun(t)
	axe := browsertest.Axe(t)
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range []int64{1280, 320} {
			b := open(t, browsertest.Send(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
				Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
			}))
			b.Do(chromedp.EmulateViewport(width, 900))
			browsertest.Ask[bool](b, `for (const d of document.querySelectorAll("details")) d.open = true; true`)
			b.Do(chromedp.Evaluate[chromedp.Void](axe + ";0"))
			found, err := chromedp.Run(b.Ctx,
				chromedp.Evaluate[[]string](
					`axe.run().then(r => r.passes.length < 20 ? ["only " + r.passes.length + " rules were met"]
				: r.violations.map(v => v.id + ": " + v.help + ", " + v.nodes.length + " times, " + v.nodes[0].html.slice(0, 200)))`, chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatal(err)
			}
			for _, text := range found {
				t.Errorf("%s, %d px: %s", scheme, width, text)
			}
		}
	}
}
