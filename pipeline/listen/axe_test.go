package listen_test

import (
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"ledgerline/pipeline/browsertest"
)

// No rule of axe-core is broken in light and in dark, wide and narrow: not where it is heard openly, not in
// trials of each kind that fill the page in another way, and not in their result. LEDGERLINE_AXE is the path
// of its axe.min.js.
func TestInABrowserByTheRulesOfAxe(t *testing.T) {
	inALongRun(t)
	axe := browsertest.Axe(t)
	b := open(t, serve(t))
	b.Do(chromedp.Evaluate[chromedp.Void](axe + ";0"))
	check := func(what string) {
		for _, scheme := range []string{"light", "dark"} {
			b.Do(browsertest.Send(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
				Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
			}))
			for _, width := range []int64{1100, 320} {
				b.Do(chromedp.EmulateViewport(width, 900))
				found := ask[[]string](b,
					`axe.run().then(r => r.passes.length < 20 ? ["only " + r.passes.length + " rules were met"]
					: [...r.violations, ...r.incomplete].map(v => v.id + ": " + v.help + ", " + v.nodes.length + " times, " + v.nodes[0].html.slice(0, 200)))`)
				for _, text := range found {
					t.Errorf("%s, %s, %d px: %s", what, scheme, width, text)
				}
			}
			b.shot(what + " " + scheme)
		}
	}
	b.key("n")
	ask[bool](b, `document.querySelector("details").open = true; true`)
	check("open")
	for _, kind := range []string{"abx", "grades"} {
		ask[bool](b, `document.querySelector("[value=`+kind+
			`]").click(); document.getElementById("trials").value = "1"; `+
			`document.getElementById("form").requestSubmit(); true`)
		b.await(`!document.getElementById("trial").hidden`)
		b.key(" ")
		b.await(`document.getElementById("play").textContent === "Pause"`)
		for _, k := range []string{"1", "2", "3"} {
			b.key(k)
		}
		b.key(" ")
		check(kind)
		ask[bool](b, `document.querySelector("#answers [data-answer]").click(); true`)
		b.await(`!document.getElementById("result").hidden`)
		check(kind + " result")
		ask[bool](b, `document.getElementById("back").click(); true`)
	}
	b.Quiet()
}
