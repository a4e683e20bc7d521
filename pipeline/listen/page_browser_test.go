package listen_test

import (
	"fmt"
	"math"
	"net"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"ledgerline/pipeline/browsertest"
	"ledgerline/stages/stagetest/long"
)

// No page is wider than its window, down to 320 px (WCAG 2.2, 1.4.10), in a trial too.
func TestInABrowserItFits(t *testing.T) {
	inALongRun(t)
	b := open(t, serve(t))
	fits := func(what string) {
		for _, width := range []int64{320, 375, 768, 1280} {
			b.Do(chromedp.EmulateViewport(width, 800))
			if got := ask[int64](b, `document.documentElement.scrollWidth`); got > width {
				t.Errorf("%s: at %d px it is %d wide: %q", what, width, got,
					ask[[]string](b, `[...document.querySelectorAll("body *")].filter(e => `+
						`e.getBoundingClientRect().right > innerWidth + 1).map(e => e.tagName + "#" + e.id)`))
			}
			if width == 320 {
				b.shot("narrow " + what)
			}
		}
	}
	ask[bool](b,
		`document.querySelector("details").open = true; document.querySelector("[value=grades]").click(); true`)
	fits("open")
	ask[bool](b,
		`document.getElementById("trials").value = "1"; document.getElementById("form").requestSubmit(); true`)
	b.await(`!document.getElementById("trial").hidden`)
	fits("trial")
	b.key(" ")
	b.await(`document.getElementById("play").textContent === "Pause"`)
	b.key("2")
	b.key("3")
	ask[bool](b, `document.querySelector("#answers [data-answer]").click(); true`)
	b.await(`!document.getElementById("result").hidden`)
	fits("result")
	b.Quiet()
}

// The keyboard alone reaches everything that can be done, in the order of the page, and single keys do the
// rest; they can be turned off (WCAG 2.2, 2.1.4).
func TestInABrowserByKeyboardAlone(t *testing.T) {
	inALongRun(t)
	b := open(t, serve(t))
	want := ask[[]string](b, `[...document.querySelectorAll("button, input, select, summary")].filter(e => `+
		`e.checkVisibility() && !e.disabled && !(e.type === "radio" && !e.checked)).map((e, i) => (e.dataset.n `+
		`= String(i)))`)
	var got []string
	for range want {
		b.key("\t")
		got = append(got, ask[string](b, `document.activeElement.dataset.n ?? document.activeElement.tagName`))
	}
	if !slices.Equal(got, want) {
		t.Errorf("tabs go to %v", got)
	}
	unnamed := ask[[]string](b, `[...document.querySelectorAll("button, input, select")].filter(e => `+
		`!(e.labels?.length || e.textContent.trim() || e.getAttribute("aria-label"))).map(e => e.id)`)
	if len(unnamed) > 0 {
		t.Errorf("without a name: %q", unnamed)
	}
	ask[bool](b, `document.activeElement.blur(); true`)
	field := func(id string) string { return ask[string](b, `document.getElementById("`+id+`").value`) }
	b.key("n")
	if !ask[bool](b, `document.getElementById("loop").checked`) ||
		field("from") == "0.00" && field("to") == "12.00" {
		t.Error("n sets no region")
	}
	first := field("from") + " " + field("to")
	b.key("n")
	if second := field("from") + " " + field("to"); second == first {
		t.Error("the second n stays where it was")
	}
	b.key("b")
	if again := field("from") + " " + field("to"); again != first {
		t.Errorf("b leads to %s, not back to %s", again, first)
	}
	b.key("l")
	if ask[bool](b, `document.getElementById("loop").checked`) {
		t.Error("l does not end the loop")
	}
	b.key("4")
	if got := ask[string](b,
		`document.querySelector("#sources [aria-pressed=true]").textContent`); !strings.HasPrefix(got, "4") {
		t.Errorf("after the key 4 %q is heard", got)
	}
	ask[bool](b, `document.getElementById("keys").checked = false; true`)
	b.key("1")
	if got := ask[string](b,
		`document.querySelector("#sources [aria-pressed=true]").textContent`); !strings.HasPrefix(got, "4") {
		t.Errorf("a key that is turned off does something: %q is heard", got)
	}
	b.Quiet()
}

// The volume starts at -20 dB, and nothing can turn anything up: 0 dB is the most, less where a file would
// pass full scale.
func TestInABrowserNothingIsTurnedUp(t *testing.T) {
	inALongRun(t)
	s := serve(t)
	b := open(t, s)
	if got := ask[float64](b, `Number(document.getElementById("volume").value)`); got != -20 {
		t.Errorf("it starts at %v dB", got)
	}
	v := s.view(0)
	most := ask[float64](b, `Number(document.getElementById("volume").max)`)
	if most > 0 || most+v.Peak > 0 || most < -0.5-max(0, v.Peak) {
		t.Errorf("at most %v dB, where the peak is %v dBFS", most, v.Peak)
	}
	for _, source := range v.Sources {
		if source.GainDB > 0 {
			t.Errorf("%s is turned up", source.Name)
		}
	}
}

// Every text has a contrast of 4.5 to 1 (WCAG 2.2, 1.4.3) with what is behind it, in light and in dark,
// pressed buttons too.
func TestInABrowserTextIsReadable(t *testing.T) {
	inALongRun(t)
	for _, scheme := range long.Or([]string{"dark"}, []string{"light", "dark"}) {
		b := open(t, serve(t))
		b.Do(browsertest.Send(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
		}))
		b.key("n")
		b.shot(scheme)
		pairs := ask[[][2]string](b, `(() => {
			const behind = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor; if (!c.endsWith(", 0)")) return c; } return "rgb(255, 255, 255)"; };
			const all = [...document.querySelectorAll("body *")].filter(e => e.checkVisibility() && [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())).map(e => getComputedStyle(e).color + "|" + behind(e));
			return [...new Set(all)].map(p => p.split("|"));
		})()`)
		if len(pairs) < 3 {
			t.Errorf("%s: only %v", scheme, pairs)
		}
		for _, p := range pairs {
			if got := contrast(css(p[0]), css(p[1])); got < 4.5 {
				t.Errorf("%s: %s on %s has %.2f to 1", scheme, p[0], p[1], got)
			}
		}
	}
}

// What is drawn along the track has a contrast of 3 to 1 (WCAG 2.2, 1.4.11) with what it is drawn on.
func TestInABrowserMarksAreSeen(t *testing.T) {
	inALongRun(t)
	b := open(t, serve(t))
	b.key("n")
	for _, scheme := range []string{"light", "dark"} {
		b.Do(browsertest.Send(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
		}))
		background := ask[string](b, `getComputedStyle(document.body).backgroundColor`)
		for mark, of := range map[string]string{
			".peaks": "fill", ".worst": "stroke", ".edge": "stroke", "#cursor": "backgroundColor",
		} {
			c := ask[string](b, `getComputedStyle(document.querySelector("`+mark+`")).`+of)
			if got := contrast(css(c), css(background)); got < 3 {
				t.Errorf("%s: %s of %s on %s has %.2f to 1", scheme, mark, c, background, got)
			}
		}
		ink, peaks := ask[string](b, `getComputedStyle(document.querySelector(".edge")).stroke`),
			ask[string](b, `getComputedStyle(document.querySelector(".peaks")).fill`)
		if got := contrast(css(ink), css(peaks)); got < 3 {
			t.Errorf("%s: the region's ends on the peaks have %.2f to 1", scheme, got)
		}
	}
	// The marks of the worst moments are above the peaks, not on them.
	if ask[bool](b, `Math.max(...[...document.querySelectorAll(".worst")].map(e => `+
		`e.getBoundingClientRect().bottom)) > document.querySelector(".peaks").getBoundingClientRect().top`) {
		t.Error("a mark is on the peaks")
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

// contrast is as WCAG 2.2 defines contrast ratio and relative luminance.
func contrast(a, b [3]float64) float64 {
	luminance := func(c [3]float64) (y float64) {
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			v := c[i] / 12.92
			if c[i] > 0.04045 {
				v = math.Pow((c[i]+0.055)/1.055, 2.4)
			}
			y += weight * v
		}
		return y
	}
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// A page of another origin in the same browser, which knows even the token, gets nothing: not by script,
// picture, sound, frame or form, and starts no session.
func TestInABrowserAForeignPageGetsNothing(t *testing.T) {
	inALongRun(t)
	s := serve(t)
	b := open(t, s)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	foreign := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		fmt.Fprint(w, "<!doctype html><title>foreign</title>")
	})}
	go foreign.Serve(l)
	t.Cleanup(func() { foreign.Close() })
	b.Do(chromedp.Navigate("http://" + l.Addr().String() + "/"))
	got := ask[map[string]string](b, strings.ReplaceAll(`(async () => {
		const got = {}, url = "URL";
		const loads = (name, e, path) => new Promise(r => { e.onload = e.oncanplay = () => { got[name] = "loaded"; r(); }; e.onerror = () => { got[name] = "refused"; r(); }; e.src = url + path; document.body.append(e); });
		for (const [name, o] of [["fetch", {}], ["post", { method: "POST", body: '{"do":"begin","room":1,"kind":"abx","trials":3,"sources":[0,1]}', headers: { "Content-Type": "application/json" } }]])
			got[name] = await fetch(url + "trial", o).then(r => "answered " + r.status, () => "refused");
		got.simple = await fetch(url + "trial", { method: "POST", mode: "no-cors", body: '{"do":"begin","room":1,"kind":"abx","trials":3,"sources":[0,1]}' }).then(r => r.type, () => "refused");
		got.block = await fetch(url + "block/1/0/0", { mode: "no-cors" }).then(r => r.type, () => "refused");
		await loads("script", document.createElement("script"), "page.js");
		await loads("image", new Image(), "page.css");
		await loads("audio", new Audio(), "block/1/0/0");
		const f = document.createElement("iframe");
		await new Promise(r => { f.onload = r; f.src = url; document.body.append(f); });
		try { got.frame = f.contentDocument === null ? "refused" : "read"; } catch { got.frame = "refused"; }
		const w = open(url, "_blank");
		const sees = () => { try { return !(w === null || w.closed || w.document === undefined); } catch { return false; } };
		for (let i = 0; i < 200 && sees(); i++) await new Promise(r => setTimeout(r, 25)); // it is empty, and this page's own, until the answer is there
		got.window = sees() ? "read" : "refused";
		return got;
	})()`, "URL", s.url))
	for name, what := range got {
		if what != "refused" {
			t.Errorf("%s: %s", name, what)
		}
	}
	if len(got) != 9 {
		t.Errorf("%v", got)
	}
	if state := string(s.get("trial")); !strings.Contains(state, `"session":""`) {
		t.Errorf("a session was started: %s", state)
	}
}
