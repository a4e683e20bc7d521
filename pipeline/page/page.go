// Package page draws a ledger: one HTML file with everything in it, that asks for nothing from anywhere and
// reads without its script.
//
// It is made of the ledger and the records along the tracks alone, never of audio. First comes the verdict,
// then every render in a row, then each track: what its chains did to the headroom, near the ceiling and in
// the spectrum, side by side; what happened along it; the waveform where it was cut deepest and where it may
// be heard; and every figure in tables. Position and lightness tell things apart, so that it reads in grey;
// two hues say what stays and what was taken away.
package page

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"slices"
	"sync"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/trial"
)

//go:embed page.html page.css page.js
var files embed.FS

var layout = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page.html").ParseFS(files, "page.html"))
})

// Render is one column of a track: what the ledger has of it, and its record along the track.
type Render struct {
	*ledger.Track
	Along *along.Record // nil: there is none, and what is drawn of it is left out
	Chain string        // the name of its column; empty: the variant's, or "own chain"
	Old   bool          // it is of an older ledger, and not judged
}

// Content is what a page is made of.
type Content struct {
	Ledger *ledger.Ledger
	// in the order of the ledger, those of one track together; none: those of Ledger without records
	Renders []Render
	Records []*along.Record    // of the ledger's tracks, in place of Renders; nil entries: none
	Survey  *Survey            // drawn with its tracks; nil: none
	Changes *ledger.Comparison // told first; nil: nothing is compared
	Trials  []trial.Result     // of listening; none: nothing is said of them
}

// FileName is what the page of a ledger is called that lies beside it.
const FileName = "ledger.html"

// generator is in every page, so that it is known again.
const generator = `<meta name="generator" content="ledgerline">`

// Head is how many bytes of a page show that it is one.
const Head = 1000

// Is says whether a text is a page that Make has made, or the head of one.
func Is(text []byte) bool {
	return bytes.Contains(text[:min(len(text), Head)], []byte(generator))
}

// Make is the text of a page. The same content gives the same bytes.
func Make(c Content) ([]byte, error) {
	if len(c.Renders) == 0 {
		for i := range c.Ledger.Tracks {
			r := Render{Track: &c.Ledger.Tracks[i]}
			if i < len(c.Records) {
				r.Along = c.Records[i]
			}
			c.Renders = append(c.Renders, r)
		}
	}
	s := newSheet(c)
	v, err := s.view(c)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := layout().Execute(&out, v); err != nil {
		return nil, fmt.Errorf("making the page: %w", err)
	}
	return out.Bytes(), nil
}

// A sheet is the release as the page shows it: tracks, and the columns of each.
type sheet struct {
	ledger *ledger.Ledger
	survey *Survey
	tracks []*track
	trials []trial.Result
}

type track struct {
	name       string
	id         string // of its section
	renders    []*render
	deliveries []*render // that continue those
}

// all are its renders, and then its deliveries.
func (t *track) all() []*render { return slices.Concat(t.renders, t.deliveries) }

// render is one column of a track.
type render struct {
	*ledger.Track
	along *along.Record
	chain string // its name in the track
	old   bool   // of an older ledger
	id    string // that no other on the page has
}

func newSheet(c Content) *sheet {
	s := &sheet{ledger: c.Ledger, survey: c.Survey, trials: c.Trials}
	renders := slices.Clone(c.Renders)
	ledger.SortByOrder(renders, c.Ledger.InOrder(), func(r Render) string { return r.Name })
	for _, r := range renders {
		at := slices.IndexFunc(s.tracks, func(t *track) bool { return t.name == r.Name })
		if at < 0 {
			at = len(s.tracks)
			s.tracks = append(s.tracks, &track{name: r.Name, id: fmt.Sprintf("t%d", at+1)})
		}
		t := s.tracks[at]
		chain := r.Chain
		if chain == "" {
			chain = chainName(r.Track)
		}
		one := &render{r.Track, r.Along, chain, r.Old, fmt.Sprintf("%s-%d", t.id, len(t.all())+1)}
		if r.Delivery != "" {
			t.deliveries = append(t.deliveries, one)
			continue
		}
		t.renders = append(t.renders, one)
	}
	for _, t := range s.tracks {
		if len(t.renders) == 0 { // its master is not rendered yet: what is delivered are its columns
			t.renders, t.deliveries = t.deliveries, nil
		}
	}
	return s
}

// each calls do for every render and delivery.
func (s *sheet) each(do func(*render)) {
	for _, t := range s.tracks {
		for _, r := range t.all() {
			do(r)
		}
	}
}

// present are the renders and deliveries of a track that are not of an older ledger.
func (t *track) present() (all []*render) {
	for _, r := range t.all() {
		if !r.old {
			all = append(all, r)
		}
	}
	return all
}

// before is which of all is the render of an older ledger that one was; -1: none.
func (t *track) before(r *render) int {
	return slices.IndexFunc(t.all(), func(o *render) bool {
		return o.old && !r.old && o.Variant == r.Variant && o.Delivery == r.Delivery
	})
}

// paired says whether a render has one of another ledger beside it.
func (t *track) paired(r *render) bool {
	return t.before(r) >= 0 || slices.ContainsFunc(t.all(), func(o *render) bool {
		return r.old && !o.old && o.Variant == r.Variant && o.Delivery == r.Delivery
	})
}

// master is the first of a track's present renders, or the first of all.
func (t *track) master() *render {
	if all := t.present(); len(all) > 0 {
		return all[0]
	}
	return t.all()[0]
}

func (r *render) label() string           { return r.Name + ", " + r.chain }
func (r *render) first() *ledger.Boundary { return &r.Boundaries[0] }
func (r *render) last() *ledger.Boundary  { return &r.Boundaries[len(r.Boundaries)-1] }

// whole is the chain as one stage; of a ledger of an earlier version it has no figures.
func (r *render) whole() *ledger.Whole {
	if r.Whole == nil {
		return &ledger.Whole{}
	}
	return r.Whole
}

// audibility is that of the chain; without figures where there is none.
func (r *render) audibility() *ledger.Audibility {
	if a := r.whole().Audibility; a != nil {
		return a
	}
	return &ledger.Audibility{}
}

// ceiling is the lowest that the chain is to hold, dBFS, which the record counts from; or the release's.
func (r *render) ceiling(release float64) float64 {
	if r.along != nil && r.along.Near != nil {
		return r.along.Near.CeilingDBFS
	}
	return release
}
