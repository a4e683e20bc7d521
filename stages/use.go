package stages

// A Use is one stage of a chain as a release uses it: the same in a release's
// chain, in the ledger and in what decides whether a render is up to date.
type Use struct {
	Name     string   `json:"name"`     // unique in its chain
	Kind     string   `json:"kind"`     // gain, hard_clip, ...
	Settings Settings `json:"settings"` // checked, and filled with the kind's defaults
}
