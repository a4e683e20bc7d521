package release

import (
	"path/filepath"
	"strings"
)

// What a release may have at most. It is far more than a record needs, and
// little enough to be resolved in seconds and in a few hundred megabytes.
const (
	mostStages   = 100     // in a chain
	mostResolved = 200_000 // stages in the chains of all variants and tracks
	mostRenders  = 100_000 // where there are variants or deliveries
)

// mostName is how many bytes a title or a name may have, of a stage, a track, a
// variant or a folder. With ".wav" after it a track's is that of a file, which
// has at most 255 on the usual file systems.
const mostName = mostFileName - len(".wav")

// mostFileName is how many bytes the name of a file has at most, as on most file systems.
const mostFileName = 255

// mostPath is how many bytes the output's folder and a pattern of the mixes may
// have: as many as the shortest limit of a usual system lets a path have.
const mostPath = 1024

// shortPath reports whether a path, and each name in it, is not too long. It
// names the first that is.
func (c *checker) shortPath(label string, n *node, path string) bool {
	for part := range strings.SplitSeq(filepath.ToSlash(path), "/") {
		if len(part) > mostName {
			c.add(n.line, "%s%s has a name of %d bytes in it; want at most %d", label, n.text, len(part), mostName)
			return false
		}
	}
	if len(path) > mostPath {
		c.add(n.line, "%s%s has %d bytes; want at most %d", label, n.text, len(path), mostPath)
	}
	return len(path) <= mostPath
}

// shortName is a name that is not too long either, or empty.
func (c *checker) shortName(label string, n *node) string {
	s := c.name(label, n)
	if len(s) > mostName {
		c.add(n.line, "%s%s has %d bytes; want at most %d", label, n.text, len(s), mostName)
		return ""
	}
	return s
}

// shortKey reports whether the name that a table has in its header is not too long.
func (c *checker) shortKey(name string, n *node) bool {
	if len(name) > mostName {
		c.add(n.line, "%s: the name has %d bytes; want at most %d", n.text, len(name), mostName)
	}
	return len(name) <= mostName
}

// bounded reports whether the chains of a file are short and few enough to be
// looked at, before any of them is.
func (c *checker) bounded(root *node) bool {
	stages, variants, tracks := 0, 0, 0
	var last *node // of those that there are
	if n := root.table["stage"]; n != nil {
		stages, last = len(n.list), n
		if stages > mostStages {
			c.add(n.list[mostStages].line, "a chain of %d stages; want at most %d", stages, mostStages)
			return false
		}
	}
	if n := root.table["track"]; n != nil {
		tracks, last = len(n.keys), n
	}
	if n := root.table["variant"]; n != nil {
		variants, last = len(n.keys), n
	}
	all := (1 + variants) * (1 + tracks) * stages
	if all > mostResolved {
		c.add(last.line, "variants: %d, tables of tracks: %d; their chains have %d stages together; "+
			"want at most %d", variants, tracks, all, mostResolved)
	}
	return all <= mostResolved
}

// fewRenders reports whether the renders are few enough to be listed. Those of
// a release without variants and deliveries are: there is a mix on the disk for each.
func (c *checker) fewRenders(d *draft, mixes []mix) bool {
	variants := d.variants
	all := (1 + len(variants) + len(d.deliveries)) * len(mixes)
	switch {
	case all <= mostRenders || len(variants)+len(d.deliveries) == 0:
		return true
	case len(d.deliveries) > 0:
		c.add(d.deliveries[0].line, "variants: %d, deliveries: %d, mixes: %d; with the release's own chain that "+
			"makes %d renders; want at most %d", len(variants), len(d.deliveries), len(mixes), all, mostRenders)
		return false
	}
	c.add(variants[0].line, "variants: %d, mixes: %d; with the release's own chain that makes %d renders; "+
		"want at most %d", len(variants), len(mixes), all, mostRenders)
	return false
}
