package pipeline

import (
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

// Load reads a release file, checks it, finds its mixes and resolves the chain
// of every render. A file that cannot be opened is a plain error; everything
// that is wrong in it comes back at once, as Problems.
func Load(path string) (*Release, error) {
	return nil, Problems{{File: path, Line: 1, Text: "release files cannot be read yet"}}
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
