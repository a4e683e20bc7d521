// Package pipeline renders a release: it brings the outputs in a folder up to date with the
// release file and the mixes, and keeps the ledger beside them.
//
// A run holds the folder's lock, asks fresh which of the chosen renders are stale, has track
// take each of those down its chain, puts the finished files in their places, and writes the
// ledger at the end. A run of a part of the release leaves its journal instead, and the next
// run of the whole reads them all. What goes wrong with one track stays with that track: its old output and
// its old ledger entry stay, and the others are rendered. A file that the release did not
// write is never replaced, and a mix is never written to.
//
//   - RenderRelease does the run (render.go, render_engine.go, render_track.go);
//   - Forecast tells what a run would do, and changes nothing;
//   - Tidy lists or deletes what has left the release.
package pipeline

import (
	"context"
	"fmt"
	"os"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// Options say how to render. Their zero value renders all that is stale.
type Options struct {
	Jobs           int         // processors to keep busy; 0 = all there are
	AllowNonFinite bool        // render a mix with NaN or infinite samples, zeros in their place
	Force          bool        // render what is up to date too, and replace a ledger that cannot be read
	Replace        bool        // replace files in an output's place that this release did not write
	Tracks         []string    // only these; none = all
	Variants       []string    // only what is made of these, "" being the release's own chain; none = all
	Deliveries     []string    // only these, "" being the renders that are none; none = all
	Part           fresh.Part  // only the tracks of this part, and no ledger; zero: the whole release
	RunCoders      bool        // take deliveries through their coders
	Removed        bool        // write what the chain took away even if the release file does not ask for it
	Brief          bool        // the ledger itself is not wanted of a run that finds nothing to do: see Outcome
	Progress       func(Event) // is told how the run goes; nil: nobody is
	Tool           string      // name and version, as the ledger is to record them
}

// State is how a render ended.
type State string

// The states of a Result.
const (
	Rendered    State = "rendered"
	Kept        State = "kept"        // it was up to date
	Failed      State = "failed"      // the old output and the old ledger entry stay
	Interrupted State = "interrupted" // the same, because the run was cancelled
	Stale       State = "stale"       // it would be rendered; only Forecast says so
)

// Result is what came of one render.
type Result struct {
	Track    string
	Variant  string // empty: the release's own chain
	Delivery string // empty: the variant's own render
	State    State
	Why      string   // it was stale, or was rendered nonetheless; empty if kept
	Err      error    // of a failed one; it names the track
	Silent   bool     // the mix has frames, all of them zero; told where it is up to date, and of a Forecast
	Warnings []string // what an engineer should know although nothing failed; each names the track

	// the entry before and the one now, not to be changed; nil: there was none, or it failed
	Was, Is *ledger.Track
}

// Outcome is what came of a run.
type Outcome struct {
	// Ledger is as it is in the output folder now; of a part, its entries, which no ledger has yet. It is
	// nil, and so are Was and Is of the results, where Options.Brief said that it is not wanted and there
	// was no need to read it.
	Ledger  *ledger.Ledger
	Results []Result // of the chosen renders, in the release's order
	// Notes are on what matched copies replaced that the ledger did not record, on a journal that
	// could not be read to its end, and on what is left over.
	Notes  []string
	Papers []Paper // those that the release asks for; of a Forecast
	// Unwritten are those that a run could not write, each with its error.
	Unwritten []Paper
	Left      Left // what is in the output folder of this release and belongs to it no more

	rows  []ledger.Row // of all entries, where there is no Ledger
	title string       // what a ledger has in its head, where there is none
	from  float64
}

// Failed counts the renders that failed.
func (o *Outcome) Failed() int {
	n := 0
	for _, r := range o.Results {
		if r.State == Failed {
			n++
		}
	}
	return n
}

// Errors are those of the renders that failed, and of the papers that could not be written.
func (o *Outcome) Errors() []error {
	var errs []error
	for _, r := range o.Results {
		if r.State == Failed {
			errs = append(errs, r.Err)
		}
	}
	for _, p := range o.Unwritten {
		errs = append(errs, p.Err)
	}
	return errs
}

// Silent are the tracks whose mixes are all zeros, as their renders tell.
func (o *Outcome) Silent() map[string]bool {
	silent := map[string]bool{}
	for i := range o.Results {
		if o.Results[i].Silent {
			silent[o.Results[i].Track] = true
		}
	}
	return silent
}

// Judged is the ledger, in brief, of the chosen renders that are up to date now: what a run
// is judged by. The entry of one that failed is not among them, if there is an
// old one: it says nothing new.
func (o *Outcome) Judged() *ledger.Brief {
	judged := make(map[renderKey]bool, len(o.Results))
	for i := range o.Results {
		if r := &o.Results[i]; r.State == Rendered || r.State == Kept {
			judged[renderKey{r.Track, r.Variant, r.Delivery}] = true
		}
	}
	var rows []ledger.Row
	if o.Ledger == nil {
		for i := range o.rows {
			if r := &o.rows[i]; judged[renderKey{r.Name, r.Variant, r.Delivery}] {
				rows = append(rows, *r)
			}
		}
		return ledger.NewBrief(o.title, o.from, rows)
	}
	for i := range o.Ledger.Tracks {
		if t := &o.Ledger.Tracks[i]; judged[renderKey{t.Name, t.Variant, t.Delivery}] {
			rows = append(rows, t.Row())
		}
	}
	return ledger.NewBrief(o.Ledger.Title, o.Ledger.CeilingDBFS, rows)
}

// RenderRelease brings the outputs of a release up to date and writes its
// ledger. What fails with one track is in its result and keeps none of the
// others from being rendered. An error means that the run as a whole could not
// be done: a choice that names nothing in the release, a folder that cannot be
// written or that another process holds (*HeldError), a ledger that cannot be
// read or written, or that ctx was cancelled. Once tracks are at work there is
// an outcome besides, which tells what was done by then.
func RenderRelease(ctx context.Context, r *release.Release, o Options) (*Outcome, error) {
	return renderWith(ctx, r, o, onDisk, blockFrames)
}

// renderWith is RenderRelease with a choice of how files are opened and made,
// and of how many frames are read at once.
func renderWith(ctx context.Context, r *release.Release, o Options, f files, block int) (*Outcome, error) {
	chosen, err := choose(r, o)
	if err != nil {
		return nil, err
	}
	if err := fits(r); err != nil {
		return nil, err
	}
	if err := oddBeside(r); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(r.Output.Folder, 0o777); err != nil {
		return nil, fmt.Errorf("making the output folder: %w", err)
	}
	lock, err := lockFor(r.Output.Folder, o.Part, f.locker())
	if notWritable(r.Output.Folder, err) {
		if out := withoutLock(ctx, r, o, f, chosen); out != nil {
			return out, nil
		}
	}
	if err != nil {
		return nil, err
	}
	defer lock.release()
	e, out, err := begin(ctx, r, o, f, chosen)
	if err != nil {
		return nil, err
	}
	if out != nil {
		if lock.note != "" {
			out.Notes = append(out.Notes, lock.note)
		}
		return out, nil
	}
	e.block = block
	e.sweep()
	noted := func(line []byte) { e.tell(Event{Step: Noted, Line: line}) }
	if e.journal, err = e.past.OpenJournal(o.Part, noted); err != nil {
		return nil, err
	}
	defer e.journal.Close()
	out, err = e.run(ctx, chosen)
	if out != nil && lock.note != "" {
		out.Notes = append(out.Notes, lock.note)
	}
	return out, err
}

// begin is the engine of a run, and the outcome if there is nothing to do.
func begin(
	ctx context.Context, r *release.Release, o Options, f files, chosen []int,
) (*engine, *Outcome, error) {
	past := fresh.Glance(ctx, r.Output.Folder, o.Brief)
	if _, brief := past.Brief(); brief {
		e := newEngine(r, o, f, past)
		e.sweep()
		if out := e.nothingToDo(ctx, chosen); out != nil {
			return e, out, nil
		}
	}
	if err := past.Read(o.Force); err != nil {
		return nil, nil, err
	}
	return newEngine(r, o, f, past), nil, nil
}
