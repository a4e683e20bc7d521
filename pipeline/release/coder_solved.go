package release

import (
	"reflect"
	"slices"

	"ledgerline/pipeline/ledger"
)

// Solved is the hold whose ceiling is sought for the coders of a render: its place in the chain; -1: none is.
func (r *Render) Solved() int {
	if !slices.ContainsFunc(r.Coders, func(c Coder) bool { return c.Solve }) {
		return -1
	}
	for k, use := range slices.Backward(r.Chain) {
		if use.Kind == holdKind {
			return k
		}
	}
	return -1
}

// SolvedForOthers says whether the ceiling of a render's hold was sought, when its entry was made, for other
// coders than it is sought for now.
func (r *Render) SolvedForOthers(entry *ledger.Track) bool {
	var was, is []coderMeaning
	for _, c := range entry.Coders {
		if c.Solved != nil {
			was = append(was, coderMeaning{c.Coder, c.Encode, c.Decode, c.WantedDBTP, true})
		}
	}
	for _, c := range r.Coders {
		if c.Solve {
			is = append(is, c.meaning())
		}
	}
	return !reflect.DeepEqual(was, is)
}

// coderMeaning is what a coder says, for hashes.
type coderMeaning struct {
	Name            string   `json:"name"`
	Encode          []string `json:"encode"`
	Decode          []string `json:"decode"`
	TruePeakMaxDBTP *float64 `json:"true_peak_max_dbtp"`
	Solve           bool     `json:"solve"`
}

func (c Coder) meaning() coderMeaning {
	return coderMeaning{c.Name, c.Encode, c.Decode, c.TruePeakMaxDBTP, c.Solve}
}
