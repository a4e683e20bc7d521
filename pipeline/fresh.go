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
)

// renderVersion is the version of rendering: of what stages, meters and the
// writing of files make of the same mix and the same settings. Any change of a
// byte or of a figure raises it, and everything is rendered anew.
const renderVersion = 2

// recipe is a hash of all that decides a render's output and figures besides
// its mix and its track's name.
func (r *Release) recipe(render *Render) string {
	text, err := json.Marshal(struct {
		Version     int
		CeilingDBFS float64 // headroom counts down from it
		Encoding    string
		Chain       []ledger.StageUsed
	}{renderVersion, r.CeilingDBFS, string(r.Output.Encoding), render.Used()})
	if err != nil {
		panic("internal error: settings that are no JSON: " + err.Error())
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// stale says why a render is not what its ledger entry records, or nothing. An
// error means that this cannot be found out.
func (e *engine) stale(ctx context.Context, r *Render, entry *ledger.Track) (string, error) {
	if why := e.staleRecord(r, entry); why != "" {
		return why + e.replaced(ctx, r, entry), nil
	}
	if why, err := e.staleFile(ctx, r.Output, entry.Output.SHA256); why != "" || err != nil {
		return why, err
	}
	if e.wantsTaken() {
		why, err := e.staleFile(ctx, r.beside(takenFolder), entry.Removed.SHA256)
		if why != "" || err != nil {
			return why, err
		}
	}
	mix, err := e.seen.hash(ctx, r.Source)
	if err != nil {
		return "", err
	}
	if mix.SHA256 != entry.Source.SHA256 {
		return "the mix changed", nil
	}
	return "", nil
}

// staleRecord says why an entry does not record what is asked for now.
func (e *engine) staleRecord(r *Render, entry *ledger.Track) string {
	switch {
	case e.options.Force:
		return "forced"
	case entry == nil:
		return "not in the ledger yet"
	case entry.Source.File != r.SourceAsWritten:
		return fmt.Sprintf("the mix was %q", entry.Source.File)
	case entry.Output.File != relative(e.release.Output.Folder, r.Output):
		return fmt.Sprintf("the output was %q", entry.Output.File)
	case entry.Recipe != e.release.recipe(r):
		return changeOfRecipe(e.release, r, entry)
	case !e.options.AllowNonFinite && nonFiniteIn(entry) > 0:
		return "the mix has samples that are not finite"
	case e.wantsTaken() && entry.Removed == nil:
		return "what was removed is not written yet"
	}
	return ""
}

// replaced is the end of a reason to render, where what stands in the output's
// place is no master that the ledger records: nobody is to lose a file without
// a word.
func (e *engine) replaced(ctx context.Context, r *Render, entry *ledger.Track) string {
	if info, err := os.Stat(r.Output); err != nil || !info.Mode().IsRegular() {
		return ""
	}
	name := relative(e.release.Output.Folder, r.Output)
	if entry == nil {
		return fmt.Sprintf("; replaces %s, which the ledger does not know", name)
	}
	if why, err := e.staleFile(ctx, r.Output, entry.Output.SHA256); why == "" || err != nil {
		return ""
	}
	return fmt.Sprintf("; replaces %s, which was altered", name)
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
