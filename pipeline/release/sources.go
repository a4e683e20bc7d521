package release

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ledgerline/pipeline/whole"
)

// mix is a source that a pattern has matched.
type mix struct {
	path    string // absolute
	written string // as Render.SourceAsWritten
	track   string
	line    int         // of the pattern
	info    fs.FileInfo // of the file behind any link
}

// mixes finds the mixes of a release that is in folder, in the order of
// their tracks.
func (c *checker) mixes(patterns []pattern, folder string) (found []mix) {
	seen := map[string]bool{}
	for _, p := range patterns {
		matches := c.match(p, folder)
		for _, m := range matches {
			if !seen[m.path] {
				seen[m.path] = true
				found = append(found, m)
			}
		}
	}
	slices.SortFunc(found, func(a, b mix) int {
		if n := strings.Compare(a.track, b.track); n != 0 {
			return n
		}
		return strings.Compare(a.path, b.path)
	})
	return found
}

// match finds the mixes of one pattern. Each pattern must have some.
func (c *checker) match(p pattern, folder string) (found []mix) {
	absolute := filepath.IsAbs(filepath.FromSlash(p.text))
	paths, err := expand(folder, p.text, filepath.Match)
	if err != nil {
		c.add(p.line, "sources: %q: %v", p.text, err)
		return nil
	}
	folders, unfit := 0, 0
	for _, path := range paths {
		info, err := os.Stat(path)
		switch {
		case errors.Is(err, fs.ErrNotExist) && !isLink(path):
			continue // gone since its folder was read, or never there
		case errors.Is(err, fs.ErrNotExist):
			c.add(p.line, "sources: %q is a link to a file that is not there", written(path, folder, absolute))
			return nil
		case err != nil:
			c.add(p.line, "sources: %q: %v", p.text, err)
			return nil
		case info.IsDir():
			folders++
			continue
		case !info.Mode().IsRegular():
			c.add(p.line, "sources: %q is %s; want an ordinary file, or a pattern that does not match it",
				written(path, folder, absolute), whole.Oddity(info.Mode()))
			return nil
		}
		m := mix{path: path, written: written(path, folder, absolute), line: p.line, info: info}
		if c.trackOf(&m) {
			found = append(found, m)
		} else {
			unfit++
		}
	}
	if len(found)+unfit == 0 {
		c.add(p.line, "sources: %s", noMatch(folder, p.text, folders))
	}
	return found
}

func isLink(path string) bool {
	info, err := os.Lstat(path)
	return err == nil && info.Mode()&fs.ModeSymlink != 0
}

// written is a path as messages and the ledger name it.
func written(path, folder string, absolute bool) string {
	if rel, err := filepath.Rel(folder, path); err == nil && !absolute {
		path = rel
	}
	return filepath.ToSlash(path)
}

// trackOf gives a mix its track's name.
func (c *checker) trackOf(m *mix) bool {
	base := filepath.Base(m.path)
	m.track = strings.TrimSuffix(base, filepath.Ext(base))
	if m.track == "" || !printable(m.track) {
		c.add(m.line, "sources: %q cannot name a track; want a name of plain text before the extension", m.written)
		return false
	}
	if len(m.track) > mostName {
		c.add(m.line, "sources: %q cannot name a track of %d bytes; want at most %d before the extension",
			m.written, len(m.track), mostName)
		return false
	}
	return true
}

// splitPattern is a pattern as the folder before its first sign, and the parts
// from there on.
func splitPattern(folder, text string) (base string, parts []string) {
	text = filepath.Clean(filepath.FromSlash(text))
	base = folder
	if filepath.IsAbs(text) {
		base = filepath.VolumeName(text) + string(filepath.Separator)
		text = strings.TrimPrefix(text, base)
	}
	parts = strings.Split(text, string(filepath.Separator))
	for len(parts) > 0 && !isPattern(parts[0]) {
		base, parts = filepath.Join(base, parts[0]), parts[1:]
	}
	return base, parts
}

// absolutePattern is a pattern with an absolute base. What would be a sign in
// a pattern but is a letter of the base is put in brackets, which mean the
// same on every system.
func absolutePattern(base string, parts []string) string {
	signs := []string{"[", "[[]", "*", "[*]", "?", "[?]"}
	if filepath.Separator == '/' {
		signs = append(signs, `\`, `\\`)
	}
	return filepath.Join(append([]string{strings.NewReplacer(signs...).Replace(base)}, parts...)...)
}

// isPattern reports whether a part of a path has signs of a pattern in it.
func isPattern(part string) bool {
	if filepath.Separator == '/' {
		return strings.ContainsAny(part, `*?[\`)
	}
	return strings.ContainsAny(part, `*?[`)
}

// expand is the paths that a checked pattern matches, in no order. Unlike
// filepath.Glob it takes the folder's own name as it is, skips names
// with a full stop before them (which file systems and programs leave about)
// unless the pattern has one too, and tells when a folder cannot be read. Names
// are compared by match.
func expand(folder, text string, match matcher) ([]string, error) {
	base, parts := splitPattern(folder, text)
	paths := []string{base}
	for i, part := range parts {
		var next []string
		for _, p := range paths {
			if i > 0 && !isFolder(p) {
				continue
			}
			names := []string{part}
			if isPattern(part) {
				var err error
				if names, err = namesIn(p, part, match); err != nil {
					return nil, err
				}
			}
			for _, n := range names {
				next = append(next, filepath.Join(p, n))
			}
		}
		paths = next
	}
	return paths, nil
}

// matcher tells whether a part of a pattern matches a name, as filepath.Match.
type matcher func(part, name string) (bool, error)

func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// namesIn are the names in a folder that a part of a pattern matches: none
// where there is no such folder.
func namesIn(folder, part string, match matcher) (names []string, err error) {
	entries, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") && !strings.HasPrefix(part, ".") {
			continue
		}
		if ok, _ := match(part, e.Name()); ok {
			names = append(names, e.Name())
		}
	}
	return names, err
}

// noMatch says why a pattern matches no file, as far as that can be seen.
func noMatch(folder, text string, folders int) string {
	if folders > 0 {
		return fmt.Sprintf("%q matches folders only; want the files in them, such as %q", text,
			strings.TrimSuffix(text, "/")+"/*.wav")
	}
	base, parts := splitPattern(folder, text)
	if len(parts) == 0 {
		names, _ := namesIn(filepath.Dir(base), "*", filepath.Match)
		return fmt.Sprintf("there is no file %q%s", text, meant(filepath.Base(base), names))
	}
	if _, err := os.Stat(base); err != nil {
		return fmt.Sprintf("%q matches no file: there is no folder %q", text,
			written(base, folder, filepath.IsAbs(text)))
	}
	names, _ := namesIn(base, "*", filepath.Match)
	switch {
	case len(parts) > 1:
		return fmt.Sprintf("%q matches no file", text)
	case len(names) == 0:
		return fmt.Sprintf("%q matches no file: the folder is empty", text)
	}
	return fmt.Sprintf("%q matches no file; the folder has %s", text, someOf(names))
}

// someOf names the first few of some names.
func someOf(names []string) string {
	const few = 5
	quoted := make([]string, 0, few)
	for _, n := range names[:min(few, len(names))] {
		quoted = append(quoted, fmt.Sprintf("%q", n))
	}
	if more := len(names) - few; more > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(quoted, ", "), more)
	}
	return enumerate(quoted, "and")
}
