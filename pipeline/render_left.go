package pipeline

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/release"
)

// Left counts the files in an output folder that this release wrote and that do
// not belong to it any more.
type Left struct {
	Files int   `json:"files"`
	Bytes int64 `json:"bytes"`
	// further files, whose content is not what the release wrote: Tidy keeps them
	Altered int `json:"altered,omitempty"`

	// the hash of all their paths, to tell one list from another; empty: nothing is left over
	List string `json:"-"`
}

// String is "3 files (24.1 MB)".
func (l Left) String() string {
	s := "s"
	if l.Files == 1 {
		s = ""
	}
	return fmt.Sprintf("%d file%s (%s)", l.Files, s, Size(l.Bytes))
}

// Size is a number of bytes as people read it: "24.1 MB", decimal.
func Size(bytes int64) string {
	if bytes < 1000 {
		return fmt.Sprintf("%d bytes", bytes)
	}
	x, units := float64(bytes)/1000, []string{"kB", "MB", "GB", "TB", "PB", "EB"}
	for x >= 999.95 && len(units) > 1 {
		x, units = x/1000, units[1:]
	}
	return fmt.Sprintf("%.1f %s", x, units[0])
}

// leftFile is a file that is left over.
type leftFile struct {
	path  string
	bytes int64
}

// left are the files that are left over, by their paths. Those belong that the
// release asks for, and those that the entry of one of its renders still has.
func (e *engine) left() []leftFile {
	belong := e.belonging()
	var all []leftFile
	add := func(path string) {
		if belong[path] || !fresh.Inside(e.release.Output.Folder, path) {
			return
		}
		if info, err := os.Lstat(path); err == nil && info.Mode().IsRegular() && e.mixes.check(path) == nil {
			all = append(all, leftFile{path, info.Size()})
		}
	}
	for path := range e.past.Ours {
		add(path)
	}
	slices.SortFunc(all, func(a, b leftFile) int { return strings.Compare(a.path, b.path) })
	return all
}

// belonging are the paths of all that belongs to the release. Looking ahead, removed files and matched copies
// that an entry has from an earlier release file do not: the next run takes them out of the ledger. If the
// release file is the same, the last run was asked for them.
func (e *engine) belonging() map[string]bool {
	l := e.past.Ledger
	recorded := !e.ahead || l == nil || l.ReleaseSHA256 == e.release.Hash
	belong := map[string]bool{}
	for _, p := range e.papers() {
		belong[p.path] = true
	}
	for i := range e.release.Renders {
		r, t := &e.release.Renders[i], e.jobs[i].entry
		for _, path := range e.outputsOf(r) {
			belong[path] = true
		}
		belong[r.Source] = true
		if recorded && t != nil && t.Removed != nil {
			belong[r.Removed()] = true
		}
		if recorded && t != nil && t.Matched != nil {
			belong[r.Matched()] = true
		}
	}
	return belong
}

// countLeft counts what is left over, as Tidy does. A file that nobody touched is not read.
func (e *engine) countLeft(ctx context.Context) Left {
	var l Left
	var list strings.Builder
	for _, f := range e.left() {
		list.WriteString(fresh.Relative(e.release.Output.Folder, f.path) + "\n")
		if x, err := e.past.Seen.Hash(ctx, f.path); ctx.Err() == nil &&
			(err != nil || !e.past.Ours.Knows(f.path, x.SHA256)) {
			l.Altered++
			continue
		}
		l.Files++
		l.Bytes += f.bytes
	}
	if list.Len() > 0 {
		l.List = hashOf([]byte(list.String()))
	}
	return l
}

// Note says what is left over, and which verb lists it; empty: nothing is.
func (l Left) Note(release string) string {
	if l.Files+l.Altered == 0 {
		return ""
	}
	text := fmt.Sprintf("%v are left over from earlier renders", l)
	switch {
	case l.Files == 0 && l.Altered == 1:
		text = "1 file left over from earlier renders was altered"
	case l.Files == 0:
		text = fmt.Sprintf("%d files left over from earlier renders were altered", l.Altered)
	case l.Files == 1:
		text = fmt.Sprintf("%v is left over from earlier renders", l)
	}
	if l.Files > 0 && l.Altered > 0 {
		text += fmt.Sprintf(", and %d more altered", l.Altered)
	}
	verb := "list them"
	if l.Files+l.Altered == 1 {
		verb = "see it"
	}
	return fmt.Sprintf("%s; to %s: ledgerline tidy %s", text, verb, shellWord(release))
}

// shellWord is a file's name as a shell takes it.
func shellWord(name string) string {
	if strings.ContainsAny(name, " \t'\"\\$&;|<>()*?[]!#~`") {
		return "'" + strings.ReplaceAll(name, "'", `'\''`) + "'"
	}
	return name
}

// sweep removes what dead processes left half written, in every folder of the
// release and in those of files that are left over.
func (e *engine) sweep() {
	for folder := range e.folders() {
		e.tidy(folder)
	}
}

// folders are the folders in which the release writes or has written files. Not
// all of them need exist.
func (e *engine) folders() map[string]bool {
	all := map[string]bool{e.release.Output.Folder: true}
	for i := range e.release.Renders {
		folder := filepath.Dir(e.release.Renders[i].Output)
		all[folder] = true
		all[filepath.Join(folder, release.RemovedFolder)] = true
		all[filepath.Join(folder, release.MatchedFolder)] = true
	}
	for path := range e.past.Ours {
		if fresh.Inside(e.release.Output.Folder, path) {
			all[filepath.Dir(path)] = true
		}
	}
	return all
}
