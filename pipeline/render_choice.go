package pipeline

import (
	"fmt"
	"ledgerline/pipeline/release"
	"slices"
)

// choose is the indices of the renders that the options ask for.
func choose(r *release.Release, o Options) ([]int, error) {
	var tracks, variants, deliveries []string
	var chosen []int
	for i := range r.Renders {
		t, v, x := r.Renders[i].Track, r.Renders[i].Variant, r.Renders[i].Delivery
		tracks, variants, deliveries = append(tracks, t), append(variants, v), append(deliveries, x)
		if among(t, o.Tracks) && among(v, o.Variants) && among(x, o.Deliveries) {
			chosen = append(chosen, i)
		}
	}
	if err := known("track", o.Tracks, tracks); err != nil {
		return nil, err
	}
	if err := known("variant", o.Variants, variants); err != nil {
		return nil, err
	}
	if err := known("delivery", o.Deliveries, deliveries); err != nil {
		return nil, err
	}
	return inPart(r, withGroups(r, chosen), o.Part), nil
}

func among(name string, wanted []string) bool {
	return len(wanted) == 0 || slices.Contains(wanted, name)
}

// ChoiceError says that a track, a variant or a delivery was asked for that the release
// does not have.
type ChoiceError struct {
	What    string // "track", "variant" or "delivery"
	Name    string
	Nearest string // the name that may have been meant; empty: none is near
}

func (e *ChoiceError) Error() string {
	if e.Nearest == "" {
		return fmt.Sprintf("the release has no %s %q", e.What, e.Name)
	}
	return fmt.Sprintf("the release has no %s %q; did you mean %q?", e.What, e.Name, e.Nearest)
}

func known(what string, wanted, have []string) error {
	for _, w := range wanted {
		if !slices.Contains(have, w) {
			near, _ := release.Nearest(w, have)
			return &ChoiceError{what, w, near}
		}
	}
	return nil
}
