package pipeline

import (
	"errors"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// A file that this release did not write is not replaced, wherever an output
// would be: its track fails, the others are rendered, and check foretells it.
func TestAForeignFileIsNotReplaced(t *testing.T) {
	names := []string{
		"masters/02 breakwater.wav", "masters/quiet/removed/02 breakwater.wav",
		"masters/loud/matched/02 breakwater.wav",
		"masters/loud/02 breakwater.wav", "masters/removed/02 breakwater.wav",
		"masters/matched/02 breakwater.wav",
	}
	for _, name := range names[:long.Or(1, 6)] {
		t.Run(name, func(t *testing.T) {
			d := matchedDesk(t)
			d.write(name, "another release's mix")
			r, err := release.Load(d.path("release.toml"))
			d.must(err)
			o := Options{Removed: true}
			foreseen, err := Forecast(t.Context(), r, o)
			d.must(err)
			if foreseen.Failed() != 1 {
				t.Errorf("%d foreseen to fail", foreseen.Failed())
			}
			for range 2 { // the second time around it is foreign still
				out, err := d.try(t.Context(), o)
				d.must(err)
				if out.Failed() != 1 || strings.Contains(states(out), "interrupted") {
					t.Fatalf("states: %s", states(out))
				}
				for i, r := range out.Results {
					var foreign *ForeignError
					if r.State != Failed {
						continue
					}
					if !errors.As(r.Err, &foreign) || foreign.File != name || !strings.Contains(r.Err.Error(), "--replace") {
						t.Errorf("error: %v", r.Err)
					}
					if foreseen.Results[i].State != Failed {
						t.Errorf("%s was not foreseen to fail", r.Label())
					}
				}
				if got := d.tree("masters")[name]; got != "another release's mix" {
					t.Errorf("it reads %.20q", got)
				}
				d.noLitter()
			}
			o.Replace = true
			if got := d.render(o); got.Failed() != 0 {
				t.Errorf("with leave to replace it: %s", states(got))
			}
			if got := states(d.render(Options{Removed: true})); strings.Contains(got, "rendered") {
				t.Errorf("then: %s", got)
			}
		})
	}
}

// Ours is what is recorded by its path, whatever became of its content; a link
// is no exception.
func TestOursIsReplacedWhateverItHolds(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{Removed: true})
	d.write("masters/01 quay.wav", "not even audio")
	d.write("masters/removed/02 breakwater.wav", "")
	d.must(os.Remove(d.path("masters/03 lantern.wav")))
	d.write("elsewhere", "stays")
	d.must(os.Symlink(d.path("elsewhere"), d.path("masters/03 lantern.wav")))
	d.render(Options{Removed: true})
	d.sameFromScratch(Options{Removed: true})
	if text, err := os.ReadFile(d.path("elsewhere")); string(text) != "stays" {
		t.Errorf("%q, %v", text, err)
	}
}

// A link in an output's place that is not ours, even one that leads nowhere, is
// somebody's too.
func TestAForeignLinkIsNotReplaced(t *testing.T) {
	d := calmDesk(t)
	d.must(os.MkdirAll(d.path("masters"), 0o777))
	d.must(os.Symlink(d.path("nowhere"), d.path("masters/03 lantern.wav")))
	out, err := d.try(t.Context(), Options{})
	d.must(err)
	if got := states(out); got != "01 quay rendered, 02 breakwater rendered, 03 lantern failed" {
		t.Errorf("states: %s", got)
	}
	if to, err := os.Readlink(d.path("masters/03 lantern.wav")); err != nil || to != d.path("nowhere") {
		t.Errorf("the link leads to %q, %v", to, err)
	}
}

// A ledger of the first schema is a record too, without a state file.
func TestAnOldLedgerIsARecord(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{})
	name := d.path("masters/" + ledger.FileName)
	text, err := os.ReadFile(name)
	d.must(err)
	d.must(os.WriteFile(name, []byte(strings.Replace(string(text), `"schema": 2`, `"schema": 1`, 1)), 0o666))
	d.must(os.Remove(d.path("masters/" + fresh.StateName)))
	d.edit("gain_db = 4.0", "gain_db = 5.5")
	d.render(Options{})
	d.sameFromScratch(Options{})
}

// A file that comes while its track is being rendered is not replaced either, nor
// taken for ours by the next run.
func TestAForeignFileThatComesMeanwhile(t *testing.T) {
	d := calmDesk(t)
	name := "masters/03 lantern.wav"
	d.files = faulty{track: "03 lantern", write: func() error {
		d.write(name, "somebody's")
		return nil
	}}.files()
	for range 2 {
		out, err := d.try(t.Context(), Options{})
		d.must(err)
		var foreign *ForeignError
		if r := out.Results[2]; r.State != Failed || !errors.As(r.Err, &foreign) {
			t.Errorf("%s: %v", r.State, r.Err)
		}
		if got := d.tree("masters")[name]; got != "somebody's" {
			t.Errorf("it reads %.20q", got)
		}
		d.noLitter()
	}
}
