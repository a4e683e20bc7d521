package page_test

import (
	"os"
	"path/filepath"
	"sync"
	"testing"

	"ledgerline/pipeline"
	"ledgerline/pipeline/along"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/page"
	"ledgerline/pipeline/release"
)

// A show is a release that was rendered to look at its page.
type show struct {
	ledger  *ledger.Ledger
	records []*along.Record
	page    []byte // that the render wrote
}

const exampleFolder = "../../examples/night-ferry"

// example is a mix of the example rendered by three chains, once for all tests.
var example = sync.OnceValues(func() (show, error) {
	var s show
	folder, err := os.MkdirTemp("", "page")
	if err != nil {
		return s, err
	}
	defer os.RemoveAll(folder)
	text, err := os.ReadFile(exampleFolder + "/release.toml")
	if err != nil {
		return s, err
	}
	mix, err := os.ReadFile(exampleFolder + "/mixes/01 quay.wav")
	if err != nil {
		return s, err
	}
	changed := foldertest.OfOneTrack(foldertest.WithoutDeliveries(string(text)), "01 quay") +
		"\n[variant.mild]\ndrive.gain_db = 3.0\n[variant.plain]\nskip = [\"hold\"]\n"
	if err := os.MkdirAll(folder+"/mixes", 0o777); err != nil {
		return s, err
	}
	if err := os.WriteFile(folder+"/mixes/01 quay.wav", mix, 0o666); err != nil {
		return s, err
	}
	if err := os.WriteFile(folder+"/release.toml", []byte(changed), 0o666); err != nil {
		return s, err
	}
	rel, err := release.Load(folder + "/release.toml")
	if err != nil {
		return s, err
	}
	out, err := pipeline.RenderRelease(nobody, rel, pipeline.Options{Tool: "ledgerline test"})
	if err != nil {
		return s, err
	}
	s.ledger = out.Ledger
	store, err := along.Read(filepath.Join(rel.Output.Folder, "ledger.along.jsonl"))
	if err != nil {
		return s, err
	}
	for _, t := range s.ledger.Tracks {
		r, err := store.Record(t.Along)
		if err != nil {
			return s, err
		}
		s.records = append(s.records, r)
	}
	s.page, err = os.ReadFile(filepath.Join(rel.Output.Folder, page.FileName))
	return s, err
})

func theExample(t *testing.T) show {
	t.Helper()
	s, err := example()
	if err != nil {
		t.Fatal(err)
	}
	return s
}
