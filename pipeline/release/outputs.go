package release

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/whole"
)

// outputPath is where a track's render goes that is in a folder of its own; empty: in the output's.
func outputPath(folder, own, track string, c audiofile.Container) string {
	return filepath.Join(folder, own, track+c.Extension())
}

// place is a folder in that of the output, and what is written there.
type place struct {
	folder    string // empty: the output's own
	container audiofile.Container
}

// path is the output of a track there.
func (p placing) path(in place, track string) string {
	return outputPath(p.out, in.folder, track, in.container)
}

// placing is what the outputs of a release are checked against.
type placing struct {
	mixes  []mix
	places []place // the first is that of the release's own chain
	folder string  // the release's
	out    string  // the output's
}

// outputs checks where everything would be written to.
func (c *checker) outputs(d *draft, p placing) {
	if info, err := os.Stat(p.out); err == nil && !info.IsDir() {
		what := cmp.Or(whole.Oddity(info.Mode()), "a file")
		c.add(d.folderLine, "[output] folder = %q is %s; want a folder", d.output.FolderAsWritten, what)
		return
	}
	c.oneEach(p)
	for _, x := range d.deliveries {
		c.tooLong(x, p)
	}
	for _, v := range d.variants {
		c.noOutput(v.name, v.label, v.line, p)
	}
	for _, x := range d.deliveries {
		c.noOutput(x.name, x.label, x.line, p)
	}
	if !c.replacing(d, p) {
		c.swallowing(d, p)
	}
}

// noOutput reports a folder that is a track's output.
func (c *checker) noOutput(folder, label string, line int, p placing) {
	for _, m := range p.mixes {
		if strings.EqualFold(folder, filepath.Base(p.path(p.places[0], m.track))) {
			c.add(line, "%sits folder would be the output of the track %q; want another name", label, m.track)
		}
	}
}

// tooLong reports a track whose name is too long with a delivery's extension, where that is longer than a
// mix's.
func (c *checker) tooLong(x deliveryDraft, p placing) {
	ext := x.container.Extension()
	for _, m := range p.mixes {
		if most := mostFileName - len(ext); len(m.track) > most && len(m.track) <= mostName {
			c.add(x.line, "%sthe track of %q has a name of %d bytes; want at most %d before %s", x.label,
				shown([]byte(m.written)), len(m.track), most, ext)
		}
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
		out := written(p.path(p.places[0], m.track), p.folder, false)
		but := ""
		if other.track != m.track {
			but = " where capitals do not count"
		}
		c.add(max(m.line, other.line), "sources: %q and %q would both be rendered to %q%s; rename one of them",
			other.written, m.written, out, but)
	}
}

// replacing reports outputs that are a mix already, by whatever name or link,
// and whether there are any.
func (c *checker) replacing(d *draft, p placing) bool {
	var out, source string
	count := 0
	var mixes whole.Files
	for _, m := range p.mixes {
		mixes.Add(m.info)
	}
	for _, v := range p.places {
		if _, err := os.Stat(filepath.Join(p.out, v.folder)); err != nil {
			continue
		}
		for _, m := range p.mixes {
			path := p.path(v, m.track)
			info, err := os.Stat(path)
			if err != nil {
				continue
			}
			if n := mixes.Find(info); n >= 0 {
				if count++; count == 1 {
					out, source = written(path, p.folder, false), p.mixes[n].written
				}
			}
		}
	}
	if count > 0 {
		c.add(d.folderLine, "[output] %q would replace the mix %q%s; want another folder, or sources that "+
			"leave it out", out, source, andMore(count-1))
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
		for _, v := range p.places {
			folder := realPath(filepath.Join(p.out, v.folder))
			for _, m := range p.mixes {
				if ok, _ := filepath.Match(pattern, filepath.Join(folder, filepath.Base(p.path(v, m.track)))); ok {
					if count++; count == 1 {
						out = written(p.path(v, m.track), p.folder, false)
					}
				}
			}
		}
		if count > 0 {
			c.add(s.line, "sources: %q also matches the output %q%s, which the next run would take for a mix; want "+
				"a narrower pattern, or another [output] folder", s.text, out, andMore(count-1))
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
