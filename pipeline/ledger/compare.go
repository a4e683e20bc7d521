package ledger

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// ComparisonSchema is the version of a comparison's JSON form.
const ComparisonSchema = 1

// DefaultToleranceDB is how far a figure may move, in dB or LU, and still count
// as unmoved.
const DefaultToleranceDB = 0.01

// Comparison is what differs between two ledgers: what was changed, and its effect.
type Comparison struct {
	Schema      int     `json:"schema"`       // ComparisonSchema
	ToleranceDB float64 `json:"tolerance_db"` // figures that moved by no more are left out
	// the release's own first, then those of every track, then the others
	Changes []Change      `json:"changes"`
	Masters []MasterMoves `json:"masters"` // what each track came to, where that moved
	// the other masters that differ in a byte, such as in a tag
	Unmoved []TrackRef `json:"unmoved,omitempty"`
	Moves   []Move     `json:"moves"`   // losses first, then the furthest
	Added   []TrackRef `json:"added"`   // tracks that only the new ledger has
	Removed []TrackRef `json:"removed"` // tracks that only the old ledger has
	// listening trials of files that are not those of the new ledger; whoever knows of trials adds them
	Trials []OtherFiles     `json:"trials,omitempty"`
	Totals ComparisonTotals `json:"totals"`

	tracks int // that both ledgers have, each counted once
}

// TrackRef names an entry of a ledger.
type TrackRef struct {
	Track    string `json:"track"`
	Variant  string `json:"variant,omitempty"`  // empty: the release's own chain
	Delivery string `json:"delivery,omitempty"` // empty: the variant's own render
}

// OtherFiles is a listening trial whose files have changed since, told by their hashes.
type OtherFiles struct {
	Track   string   `json:"track"`
	File    string   `json:"file"` // its record, relative to the release file, with slashes
	Kind    string   `json:"kind"`
	Changed []string `json:"changed"` // names of the sources
}

// String is the trial in a line.
func (o *OtherFiles) String() string {
	return "listening trial of other files: " + o.File + " (" + o.Kind + "), changed since: " +
		strings.Join(o.Changed, ", ")
}

// Change is one thing that was changed: in the release, or in the same way in
// one or several tracks.
type Change struct {
	What  string `json:"what"`            // a What constant
	Stage string `json:"stage,omitempty"` // its name in the new ledger where it has one there
	// setting, extra, tag: its key; mix: the key under source in the ledger, or "folder"
	Key    string     `json:"key,omitempty"`
	Old    any        `json:"old"`    // null: there was none
	New    any        `json:"new"`    // null: there is none
	Tracks []TrackRef `json:"tracks"` // empty: the release
	Every  bool       `json:"every"`  // those are all the tracks that both ledgers have
}

// What was changed.
const (
	WhatTool         = "tool"          // the tool's version
	WhatTitle        = "title"         // the release's title
	WhatCeiling      = "ceiling_dbfs"  // the release's ceiling
	WhatOrder        = "order"         // how the tracks follow each other, as a list in a text
	WhatGaps         = "gaps_s"        // the silence between them, the same
	WhatRelease      = "release"       // the release file's meaning, and nothing that the ledger records
	WhatMix          = "mix"           // the mix: its content, file or format
	WhatEncoding     = "encoding"      // the output's encoding
	WhatDiscFrames   = "disc_frames"   // whether the output has whole frames of a disc
	WhatFolder       = "folder"        // the folder of the output
	WhatFile         = "file"          // the output's file, in the same folder
	WhatStageAdded   = "stage_added"   // new: its kind
	WhatStageRemoved = "stage_removed" // old: its kind
	WhatStageRenamed = "stage_renamed" // old and new: its name
	WhatStageMoved   = "stage_moved"   // old and new: its place, from 1
	WhatKind         = "kind"          // the stage's kind
	WhatSetting      = "setting"       // a setting of a stage
	WhatExtra        = "extra"         // a file beside the output, key "removed" or "matched": its folder
	WhatLevel        = "level_db_spl"  // the playback level that audibility is told for
	WhatTag          = "tag"           // a tag of the master, under its key
	WhatChunks       = "chunks"        // whether the mix's chunks are carried over: keep or drop
	WhatContinuous   = "continuous"    // the tracks that run into each other, as a list in a text
	WhatAudibility   = "audibility"    // key "measure": whether it is measured; "aliasing": that of clips
	WhatRecipe       = "recipe"        // the version of rendering, and nothing else; old and new are null
	WhatBytes        = "output_bytes"  // the master's bytes; nothing recorded changed or moved
)

// Move is one figure that moved.
type Move struct {
	Track    string `json:"track"`
	Variant  string `json:"variant,omitempty"`
	Delivery string `json:"delivery,omitempty"`
	// where it was read, by its name in the new ledger; "source": the mix; "output": the files written
	Stage string `json:"stage"`
	// its key in the ledger; of a requirement the requirement's key; of a file beside the output matched_gain_db
	// or removed_gain_db
	Figure string   `json:"figure"`
	Unit   string   `json:"unit"` // dB, LU, samples, full scale; empty: a requirement
	Old    *float64 `json:"old"`  // null: it did not exist
	New    *float64 `json:"new"`  // null: it does not exist
	By     *float64 `json:"by"`   // new minus old; null where one does not exist
	// gained, lost, rose, fell, widened, narrowed, appeared, vanished, now fails, now met
	Word string `json:"word"`
	// it moved only along with another: with one at the boundary before, or with one this is made from
	Follows bool `json:"follows"`
	// a loss: a requirement that now fails, more overs or other faults in the master, net further below zero
	Worse  bool    `json:"worse"`
	weight float64 // what "worst" goes by, dB
}

// ComparisonTotals are a comparison's sums.
type ComparisonTotals struct {
	Compared              int   `json:"compared"`       // tracks that both ledgers have, each variant counted
	Moved                 int   `json:"moved"`          // of these, tracks with a figure that moved
	Figures               int   `json:"figures"`        // figures that moved
	OutputsDiffer         int   `json:"outputs_differ"` // compared tracks whose masters differ in a byte
	OversOld              int64 `json:"overs_old"`      // as in the ledgers' totals
	OversNew              int64 `json:"overs_new"`
	TrueOversOld          int   `json:"true_overs_old"` // as in the ledgers' totals
	TrueOversNew          int   `json:"true_overs_new"`
	RequirementsFailedOld int   `json:"requirements_failed_old"`
	RequirementsFailedNew int   `json:"requirements_failed_new"`
}

// Moved tells whether anything that was rendered came out otherwise: a figure
// that moved by more than the tolerance, or a track more or less.
func (c *Comparison) Moved() bool { return len(c.Moves)+len(c.Added)+len(c.Removed) > 0 }

// Same tells whether there is nothing to say at all.
func (c *Comparison) Same() bool {
	return !c.Moved() && len(c.Changes) == 0 && c.Totals.OutputsDiffer == 0
}

// pair is an entry that both ledgers have.
type pair struct {
	ref      TrackRef
	old, new *Track
	names    map[string]string // the new names of the old chain's stages that are still there
}

// Compare finds what differs between two ledgers. A figure counts as moved when
// it moved by more than the tolerance, in dB or LU; when it appeared or
// vanished; and, where it counts samples, when it differs at all.
func Compare(old, new *Ledger, toleranceDB float64) Comparison {
	c := Comparison{
		Schema: ComparisonSchema, ToleranceDB: toleranceDB,
		Changes: []Change{}, Masters: []MasterMoves{}, Moves: []Move{}, Added: []TrackRef{}, Removed: []TrackRef{},
	}
	pairs := c.match(old, new)
	c.Totals = ComparisonTotals{
		Compared: len(pairs),
		OversOld: old.Totals.Overs, OversNew: new.Totals.Overs,
		TrueOversOld: old.trueOvers(), TrueOversNew: new.trueOvers(), // not in older totals
		RequirementsFailedOld: old.Totals.RequirementsFailed, RequirementsFailedNew: new.Totals.RequirementsFailed,
	}
	changes := changeList{pairs: len(pairs)}
	changes.release(old, new)
	masters, moved := map[trackKey]*Track{}, masterMoved{}
	for _, p := range pairs {
		masters[p.new.key()] = p.new
		before := changes.said
		changes.track(p)
		quiet := changes.said == before
		if quiet && p.otherRecipe() {
			changes.unexplained = append(changes.unexplained, p)
		}
		moves := p.moves(toleranceDB)
		moved.note(p, moves, masters)
		c.Moves = append(c.Moves, moves...)
		differs := p.old.Output.SHA256 != p.new.Output.SHA256
		if m := masterMoves(p.old, p.new, new.CeilingDBFS, toleranceDB); len(m.Figures) > 0 {
			c.Masters = append(c.Masters, m)
		} else if differs {
			c.Unmoved = append(c.Unmoved, p.ref)
		}
		if len(moves) > 0 {
			c.Totals.Moved++
		}
		if differs {
			c.Totals.OutputsDiffer++
			if len(moves) == 0 && quiet && !p.otherRecipe() {
				changes.add(p.ref, Change{What: WhatBytes, Old: p.old.Output.SHA256, New: p.new.Output.SHA256})
			}
		}
	}
	changes.recipes(old, new)
	c.Totals.Figures = len(c.Moves)
	c.Changes = append(c.Changes, changes.finish(old, new)...)
	sortMoves(c.Moves)
	return c
}

func (t *Track) ref() TrackRef { return TrackRef{t.Name, t.Variant, t.Delivery} }

// match finds the tracks that both ledgers have, in the new one's order, and
// books those that only one has.
func (c *Comparison) match(old, new *Ledger) []pair {
	before := map[trackKey]*Track{}
	for i := range old.Tracks {
		before[old.Tracks[i].key()] = &old.Tracks[i]
	}
	var pairs []pair
	names := map[string]bool{}
	for i := range new.Tracks {
		t := &new.Tracks[i]
		ref := t.ref()
		if o := before[t.key()]; o != nil {
			names[t.Name] = true
			pairs = append(pairs, pair{ref: ref, old: o, new: t, names: matchStages(o.Chain, t.Chain)})
			delete(before, t.key())
			continue
		}
		c.Added = append(c.Added, ref)
	}
	c.tracks = len(names)
	for i := range old.Tracks {
		t := &old.Tracks[i]
		if before[t.key()] != nil {
			c.Removed = append(c.Removed, t.ref())
		}
	}
	return pairs
}

// sortMoves puts losses first, then what appeared, vanished or is met now, then
// by how far it moved; else in the order of track and chain.
func sortMoves(moves []Move) {
	sense := func(m Move) int {
		if m.Worse {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(moves, func(a, b Move) int {
		return cmp.Or(cmp.Compare(sense(a), sense(b)), -cmp.Compare(a.weight, b.weight))
	})
}

// always is the weight of a move that no number of dB outweighs.
var always = math.Inf(1)
