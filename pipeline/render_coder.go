package pipeline

import (
	"context"
	"errors"
	"math"
	"slices"

	"ledgerline/pipeline/coder"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// coding is how deliveries that are rendered as one go through their coders before their files are put in
// their places: one render, or those of a stream. Where a ceiling is sought for them they are rendered again
// with another one, until it is found.
type coding struct {
	*engine
	renders []int // by their places in the release
	hold    int   // the stage whose ceiling is sought; -1: none is
	olds    []*ledger.Track

	reused  *float64      // the ceiling that an earlier run found, which is good if the same files come of it
	search  *coder.Search // nil: no ceiling is sought, or not yet
	looks   []look        // that the search has had
	settled *look         // the one that decides: it is rendered once more
}

// look is what the solved coders gave back at one ceiling.
type look struct {
	ceiling float64
	shas    []string // of the deliveries' files
	found   [][]ledger.Coded
}

// newCoding begins with the ceiling that an earlier run found, if its inputs are the same. Nil: the
// deliveries have no coders.
func (e *engine) newCoding(ctx context.Context, renders []int) *coding {
	r := &e.release.Renders[renders[0]]
	if len(r.Coders) == 0 {
		return nil
	}
	c := &coding{engine: e, renders: renders, hold: r.Solved()}
	for _, i := range renders {
		c.olds = append(c.olds, e.jobs[i].entry)
	}
	if c.hold >= 0 && !(e.options.RunCoders && e.options.Force) {
		c.reused = c.foundBefore(ctx)
	}
	if c.hold >= 0 && c.reused == nil && e.options.RunCoders {
		c.search = c.newSearch()
	}
	return c
}

// of is the n-th render.
func (c *coding) of(n int) *release.Render { return &c.release.Renders[c.renders[n]] }

// foundBefore is the ceiling that an earlier run found for all of the renders; nil: there is none, or it is
// not for these inputs.
func (c *coding) foundBefore(ctx context.Context) (ceiling *float64) {
	for n := range c.renders {
		r, old := c.of(n), c.olds[n]
		if old == nil || old.Solved() == nil || old.Recipe != fresh.Recipe(c.release, r) ||
			r.SolvedForOthers(old) {
			return nil
		}
		if mix, err := c.past.Seen.Hash(ctx, r.Source); err != nil || mix.SHA256 != old.Source.SHA256 {
			return nil
		}
		for _, x := range r.Coders {
			if x.Solve && c.recorded(ctx, x, old) == nil {
				return nil
			}
		}
		s := old.Solved()
		found := s.DeclaredDBFS
		if s.CeilingDBFS != nil {
			found = *s.CeilingDBFS
		}
		if ceiling != nil && *ceiling != found {
			return nil
		}
		ceiling = &found
	}
	return ceiling
}

// newSearch begins at the hold's own ceiling.
func (c *coding) newSearch() *coder.Search {
	use := c.of(0).Chain[c.hold]
	key, _ := use.Of().Key(ceilingKey)
	return coder.NewSearch(c.own(), key.Min)
}

const ceilingKey = "ceiling_dbfs"

// own is the hold's own ceiling.
func (c *coding) own() float64 { return c.of(0).Chain[c.hold].Settings[ceilingKey].(float64) }

// chain is the chain of the next render.
func (c *coding) chain(declared []stages.Use) []stages.Use {
	switch {
	case c == nil || c.hold < 0:
		return declared
	case c.reused != nil:
		return ledger.WithCeiling(declared, c.hold, *c.reused)
	case c.settled != nil:
		return ledger.WithCeiling(declared, c.hold, c.settled.ceiling)
	case c.search != nil:
		next, _ := c.search.Next()
		return ledger.WithCeiling(declared, c.hold, next)
	}
	return declared
}

// by is a render by another chain.
func by(r *release.Render, chain []stages.Use) *release.Render {
	x := *r
	x.Chain = chain
	return &x
}

// judge takes finished files through their coders, and reports whether they are to be rendered again, with
// another ceiling. Otherwise the entries have what came back. If it fails, n is the render that did.
func (c *coding) judge(ctx context.Context, entries []*ledger.Track, to []track.Sink) (again bool,
	n int, err error) {
	if c == nil {
		return false, 0, nil
	}
	files := make([]string, len(to))
	shas := make([]string, len(to))
	for n, s := range to {
		s.Measured(loudnessOf(entries[n]))
		if files[n], err = s.Finish(); err != nil {
			return false, n, err
		}
		shas[n] = s.SHA256()
	}
	if c.reused != nil && !c.asBefore(shas) {
		c.reused = nil
		if c.options.RunCoders {
			c.search = c.newSearch()
		}
		return true, 0, nil
	}
	var solved *look
	if c.search != nil {
		if c.settled == nil {
			again, n, err := c.look(ctx, entries, files, shas)
			if again || err != nil {
				return again, n, err
			}
		} else if !slices.Equal(c.settled.shas, shas) {
			return false, 0, errors.New("the mix was changed while it was being rendered again")
		}
		solved = c.settled
	}
	for n := range entries {
		if err := c.fill(ctx, n, entries[n], files[n], shas[n], solved); err != nil {
			return false, n, err
		}
	}
	return false, 0, nil
}

// asBefore says whether files are those that the ledger records.
func (c *coding) asBefore(shas []string) bool {
	for n, sha := range shas {
		if c.olds[n].Output.SHA256 != sha {
			return false
		}
	}
	return true
}

// look takes files through the coders that a ceiling is sought for. It reports whether another ceiling is to
// be rendered; if not, what was rendered is what decides.
func (c *coding) look(ctx context.Context, entries []*ledger.Track, files, shas []string) (again bool,
	n int, err error) {
	at, _ := c.search.Next()
	l := look{ceiling: at, shas: shas, found: make([][]ledger.Coded, len(files))}
	excess := math.Inf(-1)
	for n, file := range files {
		for _, x := range c.of(n).Coders {
			if !x.Solve {
				continue
			}
			coded, err := c.takeThrough(ctx, x, entries[n], file, shas[n])
			if err != nil {
				return false, n, err
			}
			if coded.TruePeakDBTP != nil {
				excess = max(excess, *coded.TruePeakDBTP-*coded.WantedDBTP)
			}
			l.found[n] = append(l.found[n], *coded)
		}
	}
	c.looks = append(c.looks, l)
	c.search.Tried(max(excess, -200))
	if _, more := c.search.Next(); more {
		return true, 0, nil
	}
	found, ok := c.search.Found()
	if !ok {
		found = c.own()
	}
	for i := range c.looks {
		if c.looks[i].ceiling == found {
			c.settled = &c.looks[i]
		}
	}
	return found != at, 0, nil
}

// fill gives an entry what came back of its file: what the solved coders gave back, what the ledger records
// of the same file, and for the rest what comes back now, if coders are to be run.
func (c *coding) fill(ctx context.Context, n int, entry *ledger.Track, file, sha string, solved *look) error {
	old := c.olds[n]
	if old != nil && (old.Output.SHA256 != sha || c.options.Force && c.options.RunCoders) {
		old = nil
	}
	entry.Coders = nil
	k := 0
	for _, x := range c.of(n).Coders {
		var coded *ledger.Coded
		if solved != nil && x.Solve {
			own := solved.found[n][k]
			k++
			coded = &own
			coded.Solved = c.outcome()
		} else if old != nil {
			coded = c.recorded(ctx, x, old)
		}
		if coded == nil && c.options.RunCoders {
			var err error
			if coded, err = c.takeThrough(ctx, x, entry, file, sha); err != nil {
				return err
			}
		}
		if coded != nil {
			entry.Coders = append(entry.Coders, *coded)
		}
	}
	return nil
}

// outcome is what became of the search.
func (c *coding) outcome() *ledger.Solved {
	s := &ledger.Solved{
		Stage: c.of(0).Chain[c.hold].Name, DeclaredDBFS: c.own(), LowestDBFS: c.search.Lowest(),
		Rounds: c.search.Rounds(),
	}
	if found, ok := c.search.Found(); ok {
		s.CeilingDBFS = &found
	}
	return s
}
