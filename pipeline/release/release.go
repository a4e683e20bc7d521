// Package release turns a release file into a Release: checked, its mixes found,
// and the chain of every render resolved.
//
// A release file names mixes by patterns and describes one chain of stages. Every mix
// is a track. A [variant.NAME] changes the chain for another rendering of the whole
// record; a [track."NAME"] changes it for one song. A render is one track through one
// variant: a mix, an output and a chain with every setting filled in.
//
// Reading goes in three steps, each one walk over one value, and all that is wrong is
// collected on the way, so that one run tells of every mistake:
//
//   - parse (parse.go, place.go) makes a tree of nodes of the text, each with its line;
//   - check (check.go, stage.go, override.go, addend.go) makes a draft of the tree: keys, types
//     and ranges against what the kinds of stages say of themselves;
//   - resolve (resolve.go, sources.go, outputs.go, chain.go) makes the Release of the draft:
//     it finds the mixes, checks where the outputs go, and resolves the chains.
//
// What is legal but odd becomes notes (note*.go, mix_note.go, missed.go).
package release

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/whole"
	"ledgerline/stages"
)

// Release is a release file, checked, with its mixes found and every chain
// resolved. Nothing in it refers to the file any more: a change of the file or
// of the mixes asks for another Load.
type Release struct {
	Path        string  // the release file as the caller gave it
	Folder      string  // the absolute folder it is in
	House       string  // the absolute path of the file that it inherits from; empty: none
	Title       string  // the name of that folder where the file gives none
	CeilingDBFS float64 // headroom is counted down from here: -60 to 0 dBFS, 0 by default
	Output      Output  // where the masters go and in which form
	Audibility  Audibility
	Survey      Survey
	// by track name; of a track the release's own chain first, then the variants by name, each before the
	// deliveries made of it
	Renders []Render
	Order   []string       // all tracks as they follow each other; nil: by name, and nothing asks for it
	GapsS   []float64      // silence after each of them but the last, s; nil: none is said
	Hash    string         // SHA-256, hex, of the file's meaning; see meaning
	Notes   []string       // what is legal but odd, "release.toml:LINE: ..."
	Globs   []string       // the absolute patterns of the mixes, as filepath.Match takes them
	Lines   map[string]int // where each stage's [[stage]] is, by its name
}

// Output are the release file's [output].
type Output struct {
	Folder          string             // absolute
	FolderAsWritten string             // "masters" by default
	Encoding        audiofile.Encoding // pcm24 by default
	MatchLoudness   bool               // also write the variants at one loudness
	Removed         bool               // also write what the chain took away
	Page            bool               // draw the ledger as a page beside it: true by default
}

// Render is one file to be rendered: a track through one variant of the chain, or a delivery made of that.
type Render struct {
	Track           string // the mix's file name without extension
	Variant         string // empty: the release's own chain
	Delivery        string // empty: it is the variant's own render
	Source          string // the mix, absolute
	SourceAsWritten string // relative to the release file, with slashes; absolute where its pattern was
	// absolute: FOLDER/TRACK.wav, of a variant FOLDER/VARIANT/TRACK.wav, of a delivery FOLDER/DELIVERY/TRACK.wav
	Output     string
	Encoding   audiofile.Encoding
	Container  audiofile.Container // empty: WAV
	Chain      []stages.Use
	Tags       audiofile.Tags
	KeepChunks bool    // it carries over the chunks of its mix
	Sums       bool    // the sums of its delivery are written, too
	Coders     []Coder // that a delivery goes through, to be checked
	Sheet      bool    // and the sheet of its delivery
	Cue        bool    // and the cue sheet
	DiscFrames string  // where the file asks for whole frames of a disc, as messages name it; empty: nowhere
	Main       *Main   // what a delivery continues; nil: it is none
	// the tracks of its group in their order, its own too: they are one stream; none: it has no group
	Continuous []string
}

// maxReleaseBytes is more than a release file of ten thousand tracks has. What
// is larger is another kind of file, given by mistake.
const maxReleaseBytes = 1 << 20

// Load reads a release file, checks it, finds its mixes and resolves the chain
// of every render. A file that cannot be opened is a plain error; everything
// that is wrong in it comes back at once, as Problems.
//
// The chain of a render is the release's own, changed by its variant and then
// by its track: what a [track."NAME"] sets applies in every variant in which
// the stage has that key, and says nothing in the others. A stage whose kind a
// variant changes keeps the settings that both kinds have.
func Load(path string) (*Release, error) {
	text, err := read(path)
	if err != nil {
		return nil, err
	}
	return understood(path, text)
}

// understood is the release that a text means which the file at a path has, or may get.
func understood(path string, text []byte) (*Release, error) {
	c, err := newChecker(path)
	if err != nil {
		return nil, err
	}
	var r *Release
	if root := c.tree(text); root != nil {
		r = c.resolve(c.check(root))
	}
	if len(c.problems) > 0 {
		c.problems.sort()
		return nil, c.problems
	}
	return r, nil
}

// read is the text of a release file.
func read(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, fmt.Errorf("%q is a folder; want the release file in it, such as %q", path,
			filepath.Join(path, "release.toml"))
	case info.Size() > maxReleaseBytes:
		return nil, fmt.Errorf("%q has %d bytes; a release file is a text of at most %d", path, info.Size(),
			maxReleaseBytes)
	}
	f, err := whole.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxReleaseBytes+1)) // a device has no size, and may have no end
	if err == nil && len(text) > maxReleaseBytes {
		err = fmt.Errorf("%q is longer than any release file: a text of at most %d bytes", path, maxReleaseBytes)
	}
	return text, err
}
