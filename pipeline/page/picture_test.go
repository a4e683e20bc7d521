package page_test

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"ledgerline/pipeline"
	"ledgerline/pipeline/browsertest"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/page"
	"ledgerline/pipeline/release"
)

var update = flag.Bool("update", false, "draw the pictures of the README anew, in testdata")

// The pictures of the README are those of the example as it is, drawn by a command: go test ./pipeline/page
// -run Pictures -update. Which pixels they have depends on the browser and its fonts, so nothing compares
// them.
func TestReadmePictures(t *testing.T) {
	if !*update {
		for _, name := range []string{"release", "track"} {
			if _, err := os.Stat("testdata/" + name + ".png"); err != nil {
				t.Error(err)
			}
		}
		return
	}
	path := wholeExample(t)
	for name, c := range map[string]struct {
		scheme, from string
		height       int64
	}{"release": {"light", "body", 890}, "track": {"dark", ".time", 628}} {
		b := browsertest.Open(t, 1280, 900, 3*time.Minute, browsertest.Send(emulation.SetEmulatedMedia,
			emulation.SetEmulatedMediaParams{
				Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: c.scheme}},
			}))
		b.Do(chromedp.Navigate("file://"+path), chromedp.EmulateViewport(1130, c.height))
		browsertest.Ask[bool](b, `document.querySelector("`+c.from+
			`").scrollIntoView(); scrollBy(0, -8); document.documentElement.style.overflow = "hidden"; true`)
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

// wholeExample renders the example and is the path of its page.
func wholeExample(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	if err := foldertest.CopyExample(folder, exampleFolder); err != nil {
		t.Fatal(err)
	}
	rel, err := release.Load(filepath.Join(folder, "release.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := pipeline.RenderRelease(nobody, rel, pipeline.Options{Tool: "ledgerline"}); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(rel.Output.Folder, page.FileName)
}
