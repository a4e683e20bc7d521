package pipeline

import (
	"fmt"
	"os"
	"path/filepath"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// Release is a release file, checked, with its mixes found and every chain
// resolved. Nothing in it refers to the file any more: a change of the file or
// of the mixes asks for another Load.
type Release struct {
	Path        string         // the release file as the caller gave it
	Folder      string         // the absolute folder it stands in
	Title       string         // the name of that folder where the file gives none
	CeilingDBFS float64        // headroom is counted down from here: -60 to 0 dBFS, 0 by default
	Output      OutputSettings // where the masters go and in which form
	Renders     []Render       // by track name; of a track the release's own chain first, then the variants by name
	Hash        string         // SHA-256, hex, of the file's meaning; see meaning
	Notes       []string       // what is legal but odd, "release.toml:LINE: ..."
	Globs       []string       // the absolute patterns of the mixes, as filepath.Match takes them
}

// OutputSettings are the release file's [output].
type OutputSettings struct {
	Folder          string             // absolute
	FolderAsWritten string             // "masters" by default
	Encoding        audiofile.Encoding // pcm24 by default
	MatchLoudness   bool               // also write the variants at one loudness
	Removed         bool               // also write what the chain took away
}

// Render is one file to be rendered: a track through one variant of the chain.
type Render struct {
	Track           string // the mix's file name without extension
	Variant         string // empty: the release's own chain
	Source          string // the mix, absolute
	SourceAsWritten string // relative to the release file, with slashes; absolute where its pattern was
	Output          string // absolute: FOLDER/TRACK.wav, of a variant FOLDER/VARIANT/TRACK.wav
	Chain           []StageUse
}

// StageUse is a stage as one render uses it.
type StageUse struct {
	Name     string
	Kind     string
	Settings stages.Settings // checked, and filled with the kind's defaults
	Line     int             // of its [[stage]]
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
	text, err := readRelease(path)
	if err != nil {
		return nil, err
	}
	absolute, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	d, problems := parse(path, text)
	if d == nil {
		return nil, problems
	}
	c := &checker{file: path, problems: problems}
	r := c.resolve(d, filepath.Dir(absolute))
	if len(c.problems) > 0 {
		c.problems.sort()
		return nil, c.problems
	}
	return r, nil
}

// readRelease is the text of a release file.
func readRelease(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, fmt.Errorf("no release file: %w", err)
	case info.IsDir():
		return nil, fmt.Errorf("%q is a folder; want the release file in it, such as %q", path, filepath.Join(path, "release.toml"))
	case info.Size() > maxReleaseBytes:
		return nil, fmt.Errorf("%q has %d bytes; a release file is a text of at most %d", path, info.Size(), maxReleaseBytes)
	}
	return os.ReadFile(path)
}

// parse checks the text of a release file by itself. The draft is nil where the
// text is not TOML; with other problems it holds what is right.
func parse(file string, text []byte) (*draft, Problems) {
	root, problem := parseRelease(text)
	if problem != nil {
		problem.File = file
		return nil, Problems{*problem}
	}
	c := &checker{file: file}
	d := c.release(root)
	c.problems.sort()
	return d, c.problems
}

// Used is the render's chain as it stands in the ledger. It shares the
// settings with the render.
func (r Render) Used() []ledger.StageUsed {
	used := make([]ledger.StageUsed, len(r.Chain))
	for i, s := range r.Chain {
		used[i] = ledger.StageUsed{Name: s.Name, Kind: s.Kind, Settings: s.Settings}
	}
	return used
}
