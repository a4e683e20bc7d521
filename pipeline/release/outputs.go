package release

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// outputPath is where a track's render of a variant goes.
func outputPath(folder, variant, track string) string {
	return filepath.Join(folder, variant, track+".wav")
}

// placing is what the outputs of a release are checked against.
type placing struct {
	mixes    []mix
	variants []string // the first is the release's own chain
	folder   string   // the release's
	out      string   // the output's
}

// outputs checks where everything would be written to.
func (c *checker) outputs(d *draft, p placing) {
	if info, err := os.Stat(p.out); err == nil && !info.IsDir() {
		c.add(d.folderLine, "[output] folder = %q is a file; want a folder", d.output.FolderAsWritten)
		return
	}
	c.oneEach(p)
	for _, v := range d.variants {
		for _, m := range p.mixes {
			if strings.EqualFold(v.name, m.track+".wav") {
				c.add(v.line, "%sits folder would be the output of the track %q; want another name", v.label, m.track)
			}
		}
	}
	if !c.replacing(d, p) {
		c.swallowing(d, p)
	}
}

// oneEach reports tracks that would be rendered to one file. Capitals do not
// count, since on many file systems they do not.
func (c *checker) oneEach(p placing) {
	first := map[string]mix{}
	for _, m := range p.mixes {
		key := strings.ToLower(m.track)
		other, twice := first[key]
		if !twice {
			first[key] = m
			continue
		}
		out := written(outputPath(p.out, "", m.track), p.folder, false)
		but := ""
		if other.track != m.track {
			but = " where capitals do not count"
		}
		c.add(max(m.line, other.line), "sources: %q and %q would both be rendered to %q%s; rename one of them", other.written, m.written, out, but)
	}
}

// replacing reports outputs that are a mix already, by whatever name or link,
// and whether there are any.
func (c *checker) replacing(d *draft, p placing) bool {
	var out, source string
	count := 0
	for _, v := range p.variants {
		if _, err := os.Stat(filepath.Join(p.out, v)); err != nil {
			continue
		}
		for _, m := range p.mixes {
			path := outputPath(p.out, v, m.track)
			info, err := os.Stat(path)
			if err != nil {
				continue
			}
			for _, s := range p.mixes {
				if os.SameFile(info, s.info) {
					if count++; count == 1 {
						out, source = written(path, p.folder, false), s.written
					}
				}
			}
		}
	}
	if count > 0 {
		c.add(d.folderLine, "[output] %q would replace the mix %q%s; want another folder, or sources that leave it out", out, source, andMore(count-1))
	}
	return count > 0
}

// swallowing reports patterns that the next run would find outputs by, and
// take them for mixes. Links are followed on both sides.
func (c *checker) swallowing(d *draft, p placing) {
	for _, s := range d.sources {
		base, parts := splitPattern(p.folder, s.text)
		if len(parts) == 0 {
			continue
		}
		var out string
		count := 0
		pattern := absolutePattern(realPath(base), parts)
		for _, v := range p.variants {
			folder := realPath(filepath.Join(p.out, v))
			for _, m := range p.mixes {
				if ok, _ := filepath.Match(pattern, filepath.Join(folder, m.track+".wav")); ok {
					if count++; count == 1 {
						out = written(outputPath(p.out, v, m.track), p.folder, false)
					}
				}
			}
		}
		if count > 0 {
			c.add(s.line, "sources: %q also matches the output %q%s, which the next run would take for a mix; want a narrower pattern, or another [output] folder", s.text, out, andMore(count-1))
		}
	}
}

// andMore tells of further cases of what has just been named.
func andMore(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(" (and %d more)", n)
}

// realPath is a path without links, as far as it exists.
func realPath(path string) string {
	if p, err := filepath.EvalSymlinks(path); err == nil {
		return p
	}
	parent := filepath.Dir(path)
	if parent == path {
		return path
	}
	return filepath.Join(realPath(parent), filepath.Base(path))
}
