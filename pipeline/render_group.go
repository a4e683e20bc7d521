package pipeline

import (
	"fmt"
	"slices"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// groupsOf are, for each render, the renders that are one stream with it, itself among
// them, in the stream's order.
func groupsOf(r *release.Release) [][]int {
	at := make(map[renderKey]int, len(r.Renders))
	for i := range r.Renders {
		at[keyOf(&r.Renders[i])] = i
	}
	groups := make([][]int, len(r.Renders))
	for i := range r.Renders {
		x := &r.Renders[i]
		if len(x.Continuous) == 0 {
			groups[i] = []int{i}
			continue
		}
		for _, name := range x.Continuous {
			groups[i] = append(groups[i], at[renderKey{name, x.Variant, x.Delivery}])
		}
	}
	return groups
}

// withGroups are the chosen renders and those that are one stream with them, in the
// release's order: no track of a group is rendered alone.
func withGroups(r *release.Release, chosen []int) []int {
	groups := groupsOf(r)
	var all []int
	for _, i := range chosen {
		all = append(all, groups[i]...)
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// firstOf is the first render, in the stream's order, of a render's group.
func (e *engine) firstOf(i int) int { return e.jobs[i].group[0] }

// share has all of a group be stale if one is, or fail if one cannot be looked at.
func (e *engine) share(group []int, whys []string, errs []error) {
	if n := slices.IndexFunc(errs, func(err error) bool { return err != nil }); n >= 0 {
		for k := range group {
			if errs[k] == nil {
				errs[k] = e.becauseOf(group[n], errs[n])
			}
		}
		return
	}
	if n := slices.IndexFunc(whys, func(why string) bool { return why != "" }); n >= 0 {
		for k := range group {
			if whys[k] == "" {
				whys[k] = fmt.Sprintf("continuous with %q: %s", e.release.Renders[group[n]].Track, whys[n])
			}
		}
		return
	}
	entries := make([]*ledger.Track, len(group))
	for k, i := range group {
		entries[k] = e.jobs[i].entry
	}
	if why := fresh.Apart(entries); why != "" {
		for k := range whys {
			whys[k] = why
		}
	}
}

// becauseOf is the error of a render whose group fails by another of its tracks.
func (e *engine) becauseOf(other int, err error) error {
	return fmt.Errorf("it is continuous with %q, which failed: %w", e.release.Renders[other].Track, err)
}

// standTogether has the results of a group agree: all are stale if one is, and fail if one
// does or if their mixes are not of one form.
func (e *engine) standTogether(group []int, at map[int]*Result) {
	if len(group) == 1 {
		return
	}
	whys, errs := make([]string, len(group)), make([]error, len(group))
	for n, i := range group {
		whys[n], errs[n] = at[i].Why, at[i].Err
	}
	if n, err := e.joins(group); err != nil && errs[n] == nil {
		errs[n] = fmt.Errorf("%s: %w", e.release.Renders[group[n]].Label(), err)
	}
	e.share(group, whys, errs)
	for n, i := range group {
		switch {
		case errs[n] != nil:
			at[i].State, at[i].Err = Failed, errs[n]
		case whys[n] != "":
			at[i].State, at[i].Why = Stale, whys[n]
		}
	}
}

// joins fails if the mixes of a group are not of one form, by their headers, and says which is
// not that of the first. What cannot be opened is told of elsewhere.
func (e *engine) joins(group []int) (n int, err error) {
	var first audiofile.Info
	for n, i := range group {
		r := &e.release.Renders[i]
		f, err := e.files.open(r.Source)
		if err != nil {
			return n, err
		}
		info := f.Info()
		f.Close()
		if n == 0 {
			first = info
		}
		if err := track.Joins(r.Continuous[0], first, r.Track, info); err != nil {
			return n, err
		}
	}
	return 0, nil
}
