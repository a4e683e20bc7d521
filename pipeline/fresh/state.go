package fresh

import (
	"encoding/json"
	"maps"
	"path/filepath"
	"slices"
	"time"

	"ledgerline/pipeline/whole"
)

// StateName is the file beside the ledger that keeps the hashes of files by
// their stamps, and of every file that the release has written and that is still
// there: the ledger forgets those that left the release. It holds times, so it
// is no part of the ledger. Where it is lost or broken, files are hashed again,
// and what left the release is not known to be ours.
const StateName = ".ledgerline-state.json"

// stateSchema is the version of the state file's form. Schema 1, which has no
// Made, is read too; a later one is not.
const stateSchema = 2

// state is the form of the state file.
type state struct {
	Schema int              `json:"schema"`
	Files  map[string]Sight `json:"files"` // by path relative to the folder, with slashes
	// Made has the hashes of what was written at a path, by the same paths.
	Made map[string][]string `json:"made"`
}

// loadSeen reads what earlier runs knew in an output folder.
func loadSeen(folder string) *Seen {
	s := &Seen{
		folder: folder, remembered: map[string]memory{}, saved: map[string]Sight{}, Made: map[string][]string{},
	}
	text, err := whole.ReadFile(filepath.Join(folder, StateName))
	if err != nil {
		return s
	}
	st, ok := parseState(text)
	if !ok || st.Schema < 1 || st.Schema > stateSchema {
		return s
	}
	now := time.Now()
	for name, x := range st.Files {
		path := absolute(folder, name)
		s.remembered[path] = memory{Sight: x, at: now}
		s.saved[path] = x
	}
	for name, hashes := range st.Made {
		s.Made[absolute(folder, name)] = hashes
	}
	s.savedMade = s.Made
	return s
}

// Made are the files that the state file of an output folder has as written by the release, relative to the
// folder, with slashes. It is false where there is no such record.
func Made(folder string) (files map[string]bool, ok bool) {
	text, err := whole.ReadFile(filepath.Join(folder, StateName))
	if err != nil {
		return nil, false
	}
	st, ok := parseState(text)
	if !ok || st.Schema != stateSchema { // earlier ones have no such list
		return nil, false
	}
	files = make(map[string]bool, len(st.Made))
	for name := range st.Made {
		files[name] = true
	}
	return files, true
}

// parseState reads the text of a state file.
func parseState(text []byte) (st state, ok bool) {
	st.Files, st.Made = map[string]Sight{}, map[string][]string{}
	p := &puller{text: text}
	p.object(func(name []byte) {
		switch string(name) {
		case "schema":
			st.Schema = int(p.integer())
		case "files":
			p.object(func(path []byte) { file := string(path); st.Files[file] = pullSight(p) })
		case "made":
			p.object(func(path []byte) {
				file := string(path)
				var hashes []string
				p.list(func() { hashes = append(hashes, p.string()) })
				st.Made[file] = hashes
			})
		default:
			p.skip()
		}
	})
	return st, p.ended()
}

func pullSight(p *puller) (x Sight) {
	p.object(func(name []byte) {
		switch string(name) {
		case "size":
			x.Size = p.integer()
		case "modified_ns":
			x.Written = p.integer()
		case "changed_ns":
			x.Changed = p.integer()
		case "inode":
			x.Inode = p.unsigned()
		case "sha256":
			x.SHA256 = p.string()
		default:
			p.skip()
		}
	})
	return x
}

// Save writes the state file anew if what is known of the given files, or what
// was made, is not what it says. A failure is ignored: what is not kept is hashed again.
func (s *Seen) Save(paths []string) {
	keep := s.settledAt(time.Now(), paths)
	if maps.Equal(keep, s.saved) && maps.EqualFunc(s.Made, s.savedMade, slices.Equal) {
		return
	}
	st := state{stateSchema, map[string]Sight{}, map[string][]string{}}
	for path, x := range keep {
		st.Files[Relative(s.folder, path)] = x
	}
	for path, hashes := range s.Made {
		st.Made[Relative(s.folder, path)] = hashes
	}
	text, err := json.MarshalIndent(st, "", " ")
	if err != nil {
		return
	}
	_ = whole.Write(filepath.Join(s.folder, StateName), append(text, '\n'))
}

// settledAt is what is known of the given files and will be known still if
// somebody changes them from now on. A file that could be changed without
// getting another stamp is left out: the next run reads it.
func (s *Seen) settledAt(now time.Time, paths []string) map[string]Sight {
	s.mu.Lock()
	defer s.mu.Unlock()
	keep := map[string]Sight{}
	for _, path := range paths {
		n, ok := s.remembered[path]
		if n.ours {
			n.at = now
		}
		if ok && n.settled(n.at) {
			keep[path] = n.Sight
		}
	}
	return keep
}

// Relative is a path as it is in records of a folder: relative to it where
// that can be, with slashes.
func Relative(folder, path string) string {
	if rel, err := filepath.Rel(folder, path); err == nil {
		path = rel
	}
	return filepath.ToSlash(path)
}

// absolute is the path that Relative was given.
func absolute(folder, name string) string {
	path := filepath.FromSlash(name)
	if filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(folder, path)
}
