package pipeline

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// renderVersion is the version of rendering: of what stages, meters and the
// writing of files make of the same mix and the same settings. Any change of a
// byte or of a figure raises it, and everything is rendered anew.
const renderVersion = 4

// recipe is a hash of all that decides a render's output and figures besides
// its mix and its track's name.
func recipe(r *release.Release, render *release.Render) string {
	text, err := json.Marshal(struct {
		Version     int
		CeilingDBFS float64 // headroom counts down from it
		Encoding    string
		Chain       []stages.Use
	}{renderVersion, r.CeilingDBFS, string(r.Output.Encoding), render.Chain})
	if err != nil {
		panic("internal error: settings that are no JSON: " + err.Error())
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// stale says why a render is not what its ledger entry records, and which files
// that it did not write it would replace, or nothing. An error means that this
// cannot be found out.
func (e *engine) stale(ctx context.Context, r *release.Render, entry *ledger.Track) (string, error) {
	why, path, err := e.staleFor(ctx, r, entry)
	if why == "" || err != nil {
		return why, err
	}
	for _, f := range e.filesOf(r, entry) {
		if f.path == path {
			continue // said already
		}
		if other := e.replaced(ctx, f); other != "" {
			why += "; " + other
		}
	}
	return why, nil
}

// staleFor is the first reason to render, and the file that it is about if it
// is one that the render writes.
func (e *engine) staleFor(ctx context.Context, r *release.Render, entry *ledger.Track) (why, path string, err error) {
	if why := e.staleRecord(r, entry); why != "" {
		return why, "", nil
	}
	for _, f := range e.filesOf(r, entry) {
		if why, err := e.staleFile(ctx, f.path, f.sha); why != "" || err != nil {
			return why, f.path, err
		}
	}
	mix, err := e.seen.hash(ctx, r.Source)
	if err != nil {
		return "", "", err
	}
	if mix.SHA256 != entry.Source.SHA256 {
		return "the mix changed", "", nil
	}
	return "", "", nil
}

// recorded is a file as the ledger knows it.
type recorded struct {
	path string
	sha  string // empty: the ledger does not know it
}

// filesOf are the files that a render writes. The entry is nil where there is none.
func (e *engine) filesOf(r *release.Render, entry *ledger.Track) []recorded {
	all := []recorded{{path: r.Output}}
	if e.wantsTaken() {
		all = append(all, recorded{r.Removed(), shaOf(entry, removedOf)})
	}
	if entry != nil {
		all[0].sha = entry.Output.SHA256
	}
	return all
}

// The files that an entry records beside the output.
func removedOf(t *ledger.Track) *ledger.Extra { return t.Removed }
func matchedOf(t *ledger.Track) *ledger.Extra { return t.Matched }

// shaOf is the hash of such a file, empty where none is recorded.
func shaOf(entry *ledger.Track, of func(*ledger.Track) *ledger.Extra) string {
	if entry == nil || of(entry) == nil {
		return ""
	}
	return of(entry).SHA256
}

// staleRecord says why an entry does not record what is asked for now.
func (e *engine) staleRecord(r *release.Render, entry *ledger.Track) string {
	switch {
	case e.options.Force:
		return "forced"
	case entry == nil:
		return "not in the ledger yet"
	case entry.Source.File != r.SourceAsWritten:
		return fmt.Sprintf("the mix was %q", entry.Source.File)
	case entry.Output.File != relative(e.release.Output.Folder, r.Output):
		return fmt.Sprintf("the output was %q", entry.Output.File)
	case entry.Recipe != recipe(e.release, r):
		return changeOfRecipe(e.release, r, entry)
	case !e.options.AllowNonFinite && nonFiniteIn(entry) > 0:
		return "the mix has samples that are not finite"
	case e.wantsTaken() && entry.Removed == nil:
		return "what was removed is not written yet"
	}
	return ""
}

// replaced says what stands in the place of a file that is to be written, where
// that is not what the ledger records: nobody is to lose a file without a word.
func (e *engine) replaced(ctx context.Context, f recorded) string {
	if info, err := os.Stat(f.path); err != nil || !info.Mode().IsRegular() {
		return ""
	}
	name := relative(e.release.Output.Folder, f.path)
	switch k, ours := e.ours[f.path]; {
	case !ours && !e.options.Replace, k.begun:
		return "" // it is not replaced at all; or it is what a killed run made
	case !ours:
		return fmt.Sprintf("replaces %s, which this release did not write", name)
	}
	if x, err := e.seen.hash(ctx, f.path); err != nil || e.ours.knows(f.path, x.SHA256) {
		return ""
	}
	return fmt.Sprintf("replaces %s, which was altered", name)
}

// staleFile says why a file is not the one that the ledger records.
func (e *engine) staleFile(ctx context.Context, path, sha string) (string, error) {
	name := relative(e.release.Output.Folder, path)
	x, err := e.seen.hash(ctx, path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Sprintf("%s is missing", name), nil
	case err != nil:
		return "", err
	case x.SHA256 != sha:
		return fmt.Sprintf("%s was altered", name), nil
	}
	return "", nil
}

// nonFiniteIn counts the samples of a render's mix that are NaN or infinite.
func nonFiniteIn(t *ledger.Track) int64 {
	if len(t.Boundaries) == 0 {
		return 0
	}
	return t.Boundaries[0].NonFiniteSamples
}
