package pipeline

import (
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/page"
)

// The page is written beside the ledger, again where it is missing or the ledger changed, and not at all
// where the release says so.
func TestPageBesideTheLedger(t *testing.T) {
	const file = "masters/ledger.html"
	d := ferryDesk(t)
	d.write("release.toml", pagedChain)
	d.render(Options{})
	want := d.read(file)
	if !page.Is([]byte(want)) {
		t.Fatal("what was written is no page")
	}
	d.must(os.Remove(d.path(file)))
	if out := d.render(Options{}); strings.Contains(states(out), "rendered") || d.read(file) != want {
		t.Errorf("a page that is missing: %s", stateAndWhy(out))
	}
	d.edit("gain_db = 4.0", "gain_db = 4.5")
	d.render(Options{})
	if d.read(file) == want {
		t.Error("the page is that of the ledger before")
	}
	d.must(os.Remove(d.path(file)))
	d.edit("[output]\n", "[output]\npage = false\n")
	if out := d.render(Options{}); strings.Contains(states(out), "rendered") {
		t.Errorf("without a page: %s", stateAndWhy(out))
	}
	if _, err := os.Stat(d.path(file)); err == nil {
		t.Error("a page that nobody asked for")
	}
}

// What is no page is not replaced, and a note says so.
func TestAForeignPageStays(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml", pagedChain)
	d.write("masters/ledger.html", "mine")
	out := d.render(Options{})
	if d.read("masters/ledger.html") != "mine" ||
		!strings.Contains(strings.Join(out.Notes, "\n"), "ledger.html is no page of a ledger") {
		t.Errorf("%q, %q", d.read("masters/ledger.html"), out.Notes)
	}
	d.render(Options{Replace: true})
	if !page.Is([]byte(d.read("masters/ledger.html"))) {
		t.Error("it was not replaced")
	}
}
