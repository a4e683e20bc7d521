// Package fresh knows what earlier runs left in an output folder, and says of every
// render whether it is up to date.
//
// The ledger records the recipe of each render (the resolved chain, the ceiling, the
// encoding and the version of rendering) and the hashes of its mix and its files: those
// decide, and there is no other truth. Hashing a record's worth of audio takes long, so
// a state file beside the ledger remembers hashes by stamps (size, times, inode), and
// what nobody touched is not read again.
//
// A run notes in a journal what it is about to put in place and what it has finished. A
// run that was killed leaves its journal, and the next one reads it over the ledger.
package fresh

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"sync"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// RenderVersion is the version of rendering: of what stages, meters and the
// writing of files make of the same mix and the same settings. Any change of a
// byte or of a figure raises it, and everything is rendered anew.
const RenderVersion = 8

// Recipe is a hash of all that decides a render's output and figures besides
// its mix and its track's name, but for where it goes.
func Recipe(r *release.Release, render *release.Render) string {
	heard := r.Audibility
	if !heard.Measure && !slices.ContainsFunc(render.Chain, func(u stages.Use) bool { return u.Of().Hears }) {
		heard.LevelDBSPL = 0 // it decides nothing
	}
	text, err := json.Marshal(struct {
		Version     int
		CeilingDBFS float64 // headroom counts down from it
		Encoding    string
		Chain       []stages.Use
		Audibility  release.Audibility
		Continuous  []string        `json:",omitempty"`
		Container   string          `json:",omitempty"`
		Tags        *audiofile.Tags `json:",omitempty"`
		KeepChunks  bool            `json:",omitempty"`
		Beside      *beside         `json:",omitempty"`
		DiscFrames  bool            `json:",omitempty"`
	}{
		RenderVersion, r.CeilingDBFS, string(render.Encoding), render.Chain, heard, render.Continuous,
		string(render.Container), ledger.TagsOf(render.Tags), render.KeepChunks, besideOf(render),
		render.DiscFrames != "",
	})
	if err != nil {
		panic("internal error: settings that are no JSON: " + err.Error())
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// beside is what decides how the holds that a delivery shares with the release's chain aim, besides the
// delivery: what rounds there.
type beside struct {
	Encoding string
	Chain    []stages.Use
}

// besideOf is nil of a render that is no delivery, or shares no hold.
func besideOf(render *release.Render) *beside {
	m := render.Main
	if m == nil || !slices.ContainsFunc(m.Chain[:m.Begins], func(u stages.Use) bool {
		return u.Promise() != stages.NoPromise
	}) {
		return nil
	}
	return newBeside(string(m.Encoding), m.Chain[m.Begins:])
}

// newBeside is what decides of an encoding and of the stages after those that are shared.
func newBeside(encoding string, after []stages.Use) *beside {
	b := &beside{Encoding: encoding}
	for _, use := range after {
		if !use.Of().Reads {
			b.Chain = append(b.Chain, use)
		}
	}
	return b
}

// Rules are what decides whether renders of a release are up to date, besides files.
type Rules struct {
	Release        *release.Release
	Past           *Past
	Force          bool // nothing is
	Replace        bool // files that the release did not write are replaced
	AllowNonFinite bool // a mix may have samples that are not finite
	Removed        bool // what was removed is written too

	recipes sync.Map // of recipeKey: recipes that are known
}

// recipeKey is what renders of one release have in common whose recipes are the same.
type recipeKey struct {
	chain, main *stages.Use // the first of each; none: nil, of a delivery what it continues
	stages      int
	begins      int
	encoding    audiofile.Encoding
	of          audiofile.Encoding // what a delivery continues
	container   audiofile.Container
	tags        audiofile.Tags
	keepChunks  bool
	disc        bool
}

// recipe is Recipe, worked out once for all renders that share a chain.
func (c *Rules) recipe(r *release.Render) string {
	if len(r.Continuous) > 0 || len(r.Chain) == 0 || r.Main != nil && len(r.Main.Chain) == 0 {
		return Recipe(c.Release, r)
	}
	key := recipeKey{
		chain: &r.Chain[0], stages: len(r.Chain),
		encoding: r.Encoding, container: r.Container, tags: r.Tags, keepChunks: r.KeepChunks,
		disc: r.DiscFrames != "",
	}
	if m := r.Main; m != nil {
		key.main, key.begins, key.of = &m.Chain[0], m.Begins, m.Encoding
	}
	if known, ok := c.recipes.Load(key); ok {
		return known.(string)
	}
	recipe := Recipe(c.Release, r)
	c.recipes.Store(key, recipe)
	return recipe
}

// Stale says why a render is not what its ledger entry records, and which files
// that it did not write it would replace, or nothing. An error means that this
// cannot be found out.
func (c *Rules) Stale(ctx context.Context, r *release.Render, entry *ledger.Track) (string, error) {
	why, path, err := c.staleFor(ctx, r, entry)
	if why == "" || err != nil {
		return why, err
	}
	for _, f := range c.filesOf(r, entry) {
		if f.path == path {
			continue // said already
		}
		if other := c.Replaced(ctx, f.path); other != "" {
			why += "; " + other
		}
	}
	return why, nil
}

// staleFor is the first reason to render, and the file that it is about if it
// is one that the render writes.
func (c *Rules) staleFor(ctx context.Context, r *release.Render, entry *ledger.Track) (why, path string,
	err error) {
	if why := c.staleRecord(r, entry); why != "" {
		return why, "", nil
	}
	for _, f := range c.filesOf(r, entry) {
		if why, err := c.StaleFile(ctx, f.path, f.sha); why != "" || err != nil {
			return why, f.path, err
		}
	}
	mix, err := c.Past.Seen.Hash(ctx, r.Source)
	if err != nil {
		return "", "", err
	}
	if mix.SHA256 != entry.Source.SHA256 {
		return "the mix changed", "", nil
	}
	return "", "", nil
}

// WantsRemoved says whether what the chain of a render took away is to be written: not of a delivery. It
// cannot be where the rate changes on the way.
func (c *Rules) WantsRemoved(r *release.Render) bool {
	if !c.Removed || r.Main != nil {
		return false
	}
	_, _, told := stages.Told(r.Chain)
	return told
}

// recorded is a file as the ledger knows it.
type recorded struct {
	path string
	sha  string // empty: the ledger does not know it
}

// filesOf are the files that a render writes. The entry is nil where there is none.
func (c *Rules) filesOf(r *release.Render, entry *ledger.Track) []recorded {
	all := []recorded{{path: r.Output}}
	if c.WantsRemoved(r) {
		all = append(all, recorded{path: r.Removed()})
	}
	if entry == nil {
		return all
	}
	all[0].sha = entry.Output.SHA256
	if len(all) > 1 && entry.Removed != nil {
		all[1].sha = entry.Removed.SHA256
	}
	return all
}

// staleRecord says why an entry does not record what is asked for now.
func (c *Rules) staleRecord(r *release.Render, entry *ledger.Track) string {
	switch {
	case c.Force:
		return "forced"
	case entry == nil:
		return "not in the ledger yet"
	case entry.Source.File != r.SourceAsWritten:
		return fmt.Sprintf("the mix was %q", entry.Source.File)
	case entry.Output.File != Relative(c.Release.Output.Folder, r.Output):
		return fmt.Sprintf("the output was %q", entry.Output.File)
	case !slices.Equal(tracksOf(entry), r.Continuous):
		return changeOfGroup(tracksOf(entry), r.Continuous)
	case entry.Recipe != c.recipe(r):
		return c.changeOfRecipe(r, entry)
	case entry.Solved() != nil && r.SolvedForOthers(entry):
		return "the coders that a hold's ceiling was sought for changed"
	case !c.AllowNonFinite && NonFiniteIn(entry) > 0:
		return "the mix has samples that are not finite"
	case entry.Along != "" && !c.Past.HasAlong(entry.Along):
		return "its record along the track is missing or was altered"
	case (r.Sheet || r.Cue) && entry.Output.Frames == 0 && entry.Source.Frames > 0:
		return "its length is not in the ledger"
	case c.WantsRemoved(r) && entry.Removed == nil:
		return "what was removed is not written yet"
	}
	return ""
}

// Apart says why the entries of a group, each of which is up to date by itself, are not of one
// stream: a run that was killed has put only some of its masters in their places.
func Apart(entries []*ledger.Track) string {
	for _, t := range entries[1:] {
		if !slices.Equal(t.Continuous, entries[0].Continuous) {
			return "not all of its group are of one render"
		}
	}
	return ""
}

// Replaced says what is in the place of a file that is to be written, where
// that is not what the ledger records: nobody is to lose a file without a word.
func (c *Rules) Replaced(ctx context.Context, path string) string {
	if info, err := os.Stat(path); err != nil || !info.Mode().IsRegular() {
		return ""
	}
	name := Relative(c.Release.Output.Folder, path)
	switch k, ours := c.Past.Ours[path]; {
	case !ours && !c.Replace, k.Begun:
		return "" // it is not replaced at all; or it is what a killed run made
	case !ours:
		return fmt.Sprintf("replaces %s, which this release did not write", name)
	}
	if x, err := c.Past.Seen.Hash(ctx, path); err != nil || c.Past.Ours.Knows(path, x.SHA256) {
		return ""
	}
	return fmt.Sprintf("replaces %s, which was altered", name)
}

// StaleFile says why a file is not the one that the ledger records.
func (c *Rules) StaleFile(ctx context.Context, path, sha string) (string, error) {
	name := Relative(c.Release.Output.Folder, path)
	x, err := c.Past.Seen.Hash(ctx, path)
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

// NonFiniteIn counts the samples of a render's mix that are NaN or infinite.
func NonFiniteIn(t *ledger.Track) int64 {
	if len(t.Boundaries) == 0 {
		return 0
	}
	return t.Boundaries[0].NonFiniteSamples
}
