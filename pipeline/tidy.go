package pipeline

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// TidyState is what a file in an output folder that does not belong to the
// release is to Tidy.
type TidyState string

// The states of a TidyFile.
const (
	LeftOver TidyState = "left over" // it is as the release wrote it
	Altered  TidyState = "altered"   // the release wrote another file at its path
	Unknown  TidyState = "unknown"   // no record of the release has its path
	Deleted  TidyState = "deleted"   // it was left over
)

// TidyFile is one of the files that Tidy lists.
type TidyFile struct {
	File  string    `json:"file"` // relative to the output folder, with slashes
	Bytes int64     `json:"bytes"`
	State TidyState `json:"state"`
	Why   string    `json:"why"` // it does not belong, or is not deleted
	Err   error     `json:"-"`   // it could not be read or deleted; it names the file
}

// Tidy lists the audio files in a release's output folder that do not belong to
// the release, by their paths; if remove is true, it deletes those that are left
// over, and the folders that are empty then. Any other file is never deleted:
// not one whose content is not what the release wrote, and no mix. An error
// means that the whole could not be done; that one file could not be read or
// deleted is in its Err.
func Tidy(ctx context.Context, r *release.Release, remove bool) ([]TidyFile, error) {
	if _, err := os.Stat(r.Output.Folder); err != nil && os.IsNotExist(err) {
		return nil, nil // never rendered
	}
	if remove {
		unlock, err := lockFolder(r.Output.Folder)
		if err != nil {
			return nil, err
		}
		defer unlock()
	}
	if err := oddBeside(r); err != nil {
		return nil, err
	}
	past, err := fresh.Open(r.Output.Folder, false)
	if err != nil {
		return nil, err
	}
	e := aheadOf(r, Options{}, past)
	if remove {
		e.sweep()
	}
	var files []TidyFile
	for _, f := range e.left() {
		if err := ctx.Err(); err != nil {
			return files, err
		}
		files = append(files, e.tidyOne(ctx, f, remove))
	}
	if remove {
		for folder := range e.folders() {
			e.removeEmpty(folder)
		}
		e.past.Seen.Made = e.made()
		e.past.Seen.Save(e.paths())
	}
	files = append(files, e.unknown()...)
	slices.SortStableFunc(files, func(a, b TidyFile) int { return strings.Compare(a.File, b.File) })
	return files, nil
}

// tidyOne tells what a recorded file that does not belong is, and deletes it if
// it is to go. It is read for that, whatever its stamp says.
func (e *engine) tidyOne(ctx context.Context, f leftFile, remove bool) TidyFile {
	t := TidyFile{File: fresh.Relative(e.release.Output.Folder, f.path), Bytes: f.bytes, State: Altered}
	x, err := e.past.Seen.Read(ctx, f.path)
	switch {
	case err != nil:
		t.Err, t.Why = fmt.Errorf("%s: %w", t.File, err), "it cannot be read"
		return t
	case !e.past.Ours.Knows(f.path, x.SHA256):
		t.Why = "it was altered after it was written"
		if len(e.past.Ours[f.path].Hashes) == 0 {
			t.Why = "the run that wrote it was killed, so its content is not on record"
		}
		return t
	}
	t.State, t.Why = LeftOver, e.whyLeft(f.path)
	if !remove {
		return t
	}
	if err := os.Remove(f.path); err != nil {
		t.Err = err
		return t
	}
	t.State = Deleted
	return t
}

// removeEmpty removes a folder in the output folder, and those around it, as far
// as they are empty.
func (e *engine) removeEmpty(folder string) {
	for fresh.Inside(e.release.Output.Folder, folder) && folder != e.release.Output.Folder {
		if info, err := os.Lstat(folder); err != nil || !info.IsDir() || os.Remove(folder) != nil {
			return
		}
		folder = filepath.Dir(folder)
	}
}

// whyLeft says why a file does not belong to the release.
func (e *engine) whyLeft(path string) string {
	folder, extra := filepath.Dir(path), ""
	if base := filepath.Base(folder); base == release.RemovedFolder || base == release.MatchedFolder {
		folder, extra = filepath.Dir(folder), base
	}
	variant := fresh.Relative(e.release.Output.Folder, folder)
	if variant == "." {
		variant = ""
	}
	track := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	hasTrack, hasVariant, deliveries := false, variant == "", false
	for i := range e.release.Renders {
		hasTrack = hasTrack || e.release.Renders[i].Track == track
		r := &e.release.Renders[i]
		hasVariant = hasVariant || r.Variant == variant && r.Main == nil || r.Main != nil && r.Delivery == variant
		deliveries = deliveries || r.Main != nil
	}
	switch {
	case hasVariant && slices.Contains(ledger.Papers, filepath.Base(path)):
		return "the release does not ask for it"
	case !hasVariant && deliveries:
		return fmt.Sprintf("the release has no variant and no delivery %q", variant)
	case !hasVariant:
		return fmt.Sprintf("the release has no variant %q", variant)
	case !hasTrack:
		return fmt.Sprintf("the release has no track %q", track)
	case extra == release.RemovedFolder:
		return "what was removed is not asked for"
	case extra == release.MatchedFolder:
		return "matched copies are not asked for"
	}
	return "the release does not ask for it"
}

// unknown are the audio files in the folders of the release, and in those of
// what is left over, that no record has. A mix is none of them.
func (e *engine) unknown() []TidyFile {
	var all []TidyFile
	for folder := range e.folders() {
		list, err := os.ReadDir(folder)
		if err != nil {
			continue
		}
		for _, entry := range list {
			path := filepath.Join(folder, entry.Name())
			if _, ours := e.past.Ours[path]; ours || !isAudio(entry) || e.mixes.check(path) != nil {
				continue
			}
			info, err := entry.Info()
			if err != nil {
				continue
			}
			all = append(all, TidyFile{
				File: fresh.Relative(e.release.Output.Folder, path), Bytes: info.Size(), State: Unknown,
				Why: "this release has no record of it",
			})
		}
	}
	return all
}

// isAudio says whether a file has the name of one that a release could write.
func isAudio(entry fs.DirEntry) bool {
	return entry.Type().IsRegular() &&
		slices.ContainsFunc(audiofile.Containers(), func(c audiofile.Container) bool {
			return strings.EqualFold(filepath.Ext(entry.Name()), c.Extension())
		})
}
