package pipeline

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"

	"ledgerline/pipeline/coder"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// coding is how deliveries that are rendered as one go through their coders before their files are put in their places: one
// render, or those of a stream. Where a ceiling is sought for them they are rendered again with another one, until it is found.
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

// newCoding begins with the ceiling that an earlier run found, if its inputs are the same. Nil: the deliveries have no coders.
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

// foundBefore is the ceiling that an earlier run found for all of the renders; nil: there is none, or it is not for these inputs.
func (c *coding) foundBefore(ctx context.Context) (ceiling *float64) {
	for n := range c.renders {
		r, old := c.of(n), c.olds[n]
		if old == nil || old.Solved() == nil || old.Recipe != fresh.Recipe(c.release, r) || c.rules.SolvedForOthers(r, old) {
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

// judge takes finished files through their coders, and reports whether they are to be rendered again, with another ceiling.
// Otherwise the entries have what came back. If it fails, n is the render that did.
func (c *coding) judge(ctx context.Context, entries []*ledger.Track, to []track.Sink) (again bool, n int, err error) {
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

// look takes files through the coders that a ceiling is sought for. It reports whether another ceiling is to be rendered; if
// not, what was rendered is what decides.
func (c *coding) look(ctx context.Context, entries []*ledger.Track, files, shas []string) (again bool, n int, err error) {
	at, _ := c.search.Next()
	l := look{ceiling: at, shas: shas, found: make([][]ledger.Coded, len(files))}
	excess := math.Inf(-1)
	for n, file := range files {
		for _, x := range c.of(n).Coders {
			if !x.Solve {
				continue
			}
			coded, err := c.run(ctx, x, entries[n], file, shas[n])
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

// fill gives an entry what came back of its file: what the solved coders gave back, what the ledger records of the same file, and
// for the rest what comes back now, if coders are to be run.
func (c *coding) fill(ctx context.Context, n int, entry *ledger.Track, file, sha string, solved *look) error {
	old := c.olds[n]
	if old != nil && (old.Output.SHA256 != sha || c.options.Force) {
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
			if coded, err = c.run(ctx, x, entry, file, sha); err != nil {
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
	s := &ledger.Solved{Stage: c.of(0).Chain[c.hold].Name, DeclaredDBFS: c.own(), LowestDBFS: c.search.Lowest(), Rounds: c.search.Rounds()}
	if found, ok := c.search.Found(); ok {
		s.CeilingDBFS = &found
	}
	return s
}

// run takes a file through a coder.
func (e *engine) run1(ctx context.Context, x release.Coder, last ledger.Boundary, file, sha string) (*ledger.Coded, error) {
	f, err := e.bench.Run(ctx, file, x)
	if err != nil {
		return nil, err
	}
	if f.SHA256 != sha {
		return nil, fmt.Errorf("%q is not what the ledger records: render it first", file)
	}
	coded := &ledger.Coded{
		Coder: x.Name, Encode: x.Encode, Decode: x.Decode, Versions: f.Versions, DelayFrames: f.DelayFrames,
		SamplePeakDBFS: ledger.Level(stages.DB(f.SamplePeak)), TruePeakDBTP: ledger.Level(stages.DB(f.TruePeak)),
		SamplePeakChannel: f.SampleChannel + 1, TruePeakChannel: f.TrueChannel + 1,
	}
	if f.SampleFrame >= 0 {
		coded.SamplePeakTimeS = seconds(float64(f.SampleFrame), f.RateHz)
	}
	if f.TrueFrame >= 0 {
		coded.TruePeakTimeS = seconds(f.TrueFrame, f.RateHz)
	}
	coded.NewGrowth(last)
	coded.Require(x.TruePeakMaxDBTP)
	return coded, nil
}

func seconds(frames float64, rate int) *float64 {
	const perFrame = 4 // places are quarters of a frame
	s := ledger.Seconds(int64(math.Round(frames*perFrame)), rate*perFrame)
	return &s
}

func (c *coding) run(ctx context.Context, x release.Coder, entry *ledger.Track, file, sha string) (*ledger.Coded, error) {
	return c.run1(ctx, x, entry.Boundaries[len(entry.Boundaries)-1], file, sha)
}

// recorded is what an entry has of a coder as it is now, judged by the limit as it is now; nil: nothing. Which versions the
// programs have is only looked at where coders are run.
func (e *engine) recorded(ctx context.Context, x release.Coder, entry *ledger.Track) *ledger.Coded {
	for _, old := range entry.Coders {
		if !slices.Equal(old.Encode, x.Encode) || !slices.Equal(old.Decode, x.Decode) {
			continue
		}
		if e.options.RunCoders {
			if versions, err := e.bench.Versions(ctx, x); err != nil || !slices.Equal(versions, old.Versions) {
				continue
			}
		}
		old.Coder = x.Name
		old.Require(x.TruePeakMaxDBTP)
		if !x.Solve {
			old.Solved = nil
		}
		return &old
	}
	return nil
}

// staleCoders says why a render that is up to date is to be rendered again for its coders: a ceiling is to be sought.
func (e *engine) staleCoders(ctx context.Context, r *release.Render, entry *ledger.Track) (string, error) {
	if !e.options.RunCoders {
		return "", nil
	}
	for _, x := range r.Coders {
		if _, err := e.bench.Versions(ctx, x); err != nil {
			return "", err
		}
		if !x.Solve {
			continue
		}
		if old := e.recorded(ctx, x, entry); old == nil || old.Solved == nil {
			return fmt.Sprintf("no ceiling has been sought for coder %q as it is now", x.Name), nil
		}
	}
	return "", nil
}

// refitted is the entry of a render that is up to date, with what came back from the coders that it has now, and no others.
func (e *engine) refitted(ctx context.Context, r *release.Render, entry *ledger.Track) *ledger.Track {
	var coders []ledger.Coded
	for _, x := range r.Coders {
		if old := e.recorded(ctx, x, entry); old != nil {
			coders = append(coders, *old)
		}
	}
	if reflect.DeepEqual(coders, entry.Coders) {
		return entry
	}
	is := *entry
	is.Coders = coders
	return &is
}

// checkKept takes the files of deliveries that were up to date through the coders that they have not been through.
func (e *engine) checkKept(ctx context.Context, chosen []int) {
	if !e.options.RunCoders {
		return
	}
	todo := slices.DeleteFunc(slices.Clone(chosen), func(i int) bool {
		return e.jobs[i].result.State != Kept || len(e.release.Renders[i].Coders) == len(e.jobs[i].entry.Coders)
	})
	e.crew.Each(ctx, todo, func(ctx context.Context, i int) {
		if _, err := track.Protect(e.release.Renders[i].Label(), func() (struct{}, error) { return struct{}{}, e.checkOne(ctx, i) }); err != nil {
			e.fail(ctx, i, err)
		}
	})
}

func (e *engine) checkOne(ctx context.Context, i int) error {
	r, entry := &e.release.Renders[i], e.jobs[i].entry
	var coders []ledger.Coded
	for _, x := range r.Coders {
		coded := e.recorded(ctx, x, entry)
		if coded == nil {
			var err error
			if coded, err = e.run1(ctx, x, entry.Boundaries[len(entry.Boundaries)-1], r.Output, entry.Output.SHA256); err != nil {
				return err
			}
		}
		coders = append(coders, *coded)
	}
	e.amend(i, func(t *ledger.Track) { t.Coders = coders })
	e.jobs[i].result.Is = e.jobs[i].entry
	e.book(r, e.jobs[i].entry, nil)
	return nil
}

// unchecked names the deliveries, among those that are up to date now, that did not go through all of their coders.
func (e *engine) unchecked() (notes []string) {
	tracks := map[string]int{}
	coders := map[string][]string{}
	for i := range e.jobs {
		r, t := &e.release.Renders[i], e.jobs[i].entry
		if state := e.jobs[i].result.State; state != Rendered && state != Kept || t == nil || len(r.Coders) <= len(t.Coders) {
			continue
		}
		tracks[r.Delivery]++
		for _, x := range r.Coders {
			if !slices.ContainsFunc(t.Coders, func(c ledger.Coded) bool { return c.Coder == x.Name }) && !slices.Contains(coders[r.Delivery], x.Name) {
				coders[r.Delivery] = append(coders[r.Delivery], x.Name)
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(tracks)) {
		s := "s"
		if tracks[name] == 1 {
			s = ""
		}
		notes = append(notes, fmt.Sprintf("delivery %q is not checked through %s (%d track%s): render --run-coders does", name, strings.Join(coders[name], ", "), tracks[name], s))
	}
	return notes
}
