package page_test

import (
	"flag"
	"os"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"ledgerline/pipeline/browsertest"
)

var update = flag.Bool("update", false, "draw the pictures of the README anew, in testdata")

// The pictures of the README are drawn by a command: go test ./pipeline/page -run Pictures -update. Which pixels they have
// depends on the browser and its fonts, so nothing compares them.
func TestReadmePictures(t *testing.T) {
	if !*update {
		for _, name := range []string{"release", "track"} {
			if _, err := os.Stat("testdata/" + name + ".png"); err != nil {
				t.Error(err)
			}
		}
		return
	}
	for name, c := range map[string]struct {
		scheme, from string
		height       int64
	}{"release": {"light", "body", 620}, "track": {"dark", ".time", 665}} {
		b := open(t, browsertest.Send(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: c.scheme}}}))
		b.Do(chromedp.EmulateViewport(1130, c.height))
		browsertest.Ask[bool](b, `document.querySelector("`+c.from+`").scrollIntoView(); document.documentElement.style.overflow = "hidden"; true`)
		picture, err := chromedp.Run(b.Ctx, chromedp.CaptureScreenshot())
		if err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll("testdata", 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("testdata/"+name+".png", picture, 0o666); err != nil {
			t.Fatal(err)
		}
	}
}
