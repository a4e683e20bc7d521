package release

import (
	"path/filepath"

	"ledgerline/pipeline/ledger"
)

// The folders, within that of the output, of the files that go with a render's output.
// No variant has these names.
const (
	RemovedFolder = "removed" // what the chain took away
	MatchedFolder = "matched" // copies at one loudness
)

// Removed is the path of the file of what the chain took away.
func (r *Render) Removed() string { return r.beside(RemovedFolder) }

// Matched is the path of the copy at the loudness of the quietest variant.
func (r *Render) Matched() string { return r.beside(MatchedFolder) }

// beside is the path of a file that goes with the output, in a folder of its own there.
func (r *Render) beside(folder string) string {
	return filepath.Join(filepath.Dir(r.Output), folder, filepath.Base(r.Output))
}

// Label names a render in messages, as the ledger's tables do.
func (r *Render) Label() string { return ledger.Label(r.Track, r.Version()) }

// Version tells a render from others of its track; empty: it is that of the release's own chain.
func (r *Render) Version() string { return ledger.Version(r.Variant, r.Delivery) }

// Matches says whether matched copies are asked for, and there are variants to match.
func (r *Release) Matches() bool {
	if r.Output.MatchLoudness {
		for i := range r.Renders {
			if r.Renders[i].Variant != "" {
				return true
			}
		}
	}
	return false
}
