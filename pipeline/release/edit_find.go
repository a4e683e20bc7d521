package release

import (
	"slices"

	"github.com/pelletier/go-toml/v2/unstable"
)

// entries are the keys and headers of a text and where they are, in its order.
type entries struct {
	text   []byte
	parser unstable.Parser
	all    []entry
}

// An entry is a key with its value, or a header.
type entry struct {
	path     []string // from the top of the file
	section  []string // the header that it is under, or the header itself
	header   bool
	braces   bool // its value is a table in braces
	inBraces bool // it is in one
	from, to int  // of a key's value: where it is; of a header: the header's last key
	line     int  // where its line begins
}

func findEntries(text []byte) *entries {
	e := &entries{text: text}
	e.parser.Reset(text)
	var section []string
	for e.parser.NextExpression() {
		x := e.parser.Expression()
		switch x.Kind {
		case unstable.Table, unstable.ArrayTable:
			keys, from, to := keysOf(x)
			section = keys
			e.all = append(e.all, entry{path: keys, section: keys, header: true, to: to, line: e.lineStart(from)})
			if x.Kind == unstable.ArrayTable {
				section = append(slices.Clone(keys), "[]") // no track's
			}
		case unstable.KeyValue:
			e.keyValue(section, section, x, false)
		}
	}
	return e
}

// keyValue enters a key that is in the table of a path, and those in its value.
func (e *entries) keyValue(in, section []string, x *unstable.Node, inBraces bool) {
	keys, from, to := keysOf(x)
	n := entry{path: slices.Concat(in, keys), section: section, inBraces: inBraces, line: e.lineStart(from)}
	n.from = to
	for n.from < len(e.text) && slices.Contains([]byte(" \t="), e.text[n.from]) {
		n.from++
	}
	n.to = int(x.Raw.Offset + x.Raw.Length)
	v := x.Value()
	n.braces = v.Kind == unstable.InlineTable
	if v.Kind == unstable.Float || v.Kind == unstable.Integer {
		n.to = n.from
		for n.to < len(e.text) && !slices.Contains([]byte(" \t\r\n#,}"), e.text[n.to]) {
			n.to++
		}
	}
	e.all = append(e.all, n)
	if n.braces {
		for c := v.Children(); c.Next(); {
			e.keyValue(n.path, section, c.Node(), true)
		}
	}
}

// lineStart is where the line of an offset begins.
func (e *entries) lineStart(at int) int {
	for at > 0 && e.text[at-1] != '\n' {
		at--
	}
	return at
}

// keysOf are a node's dotted key, and where that begins and ends.
func keysOf(x *unstable.Node) (keys []string, from, to int) {
	for it := x.Key(); it.Next(); {
		k := it.Node()
		if keys == nil {
			from = int(k.Raw.Offset)
		}
		to = int(k.Raw.Offset + k.Raw.Length)
		keys = append(keys, string(k.Data))
	}
	return keys, from, to
}

// value is the entry of a path.
func (e *entries) value(path []string) (entry, bool) {
	at := slices.IndexFunc(e.all, func(n entry) bool { return !n.header && slices.Equal(n.path, path) })
	if at < 0 {
		return entry{}, false
	}
	return e.all[at], true
}

// braced says whether a table on the way to a path is in braces.
func (e *entries) braced(path []string) bool {
	return slices.ContainsFunc(e.all, func(n entry) bool { return n.braces && hasPrefix(path, n.path) })
}

func hasPrefix(path, prefix []string) bool {
	return len(prefix) <= len(path) && slices.Equal(path[:len(prefix)], prefix)
}

// A spot is where a key can be added: after an offset's line, in a section that already has so many names of
// its path.
type spot struct {
	after, depth int
	indent       string
}

// place finds where a key of a track's stage goes: into the stage's table, the track's, or where other keys
// of the track are.
func (e *entries) place(path []string) (spot, bool) {
	for depth := len(path) - 1; depth >= 2; depth-- {
		if at := e.lastIn(func(n entry) bool { return slices.Equal(n.section, path[:depth]) }); at >= 0 {
			return e.after(at, depth), true
		}
	}
	at := e.lastIn(func(n entry) bool {
		return !n.header && !n.inBraces && hasPrefix(n.path, path[:2]) && hasPrefix(path, n.section)
	})
	if at < 0 {
		return spot{}, false
	}
	return e.after(at, len(e.all[at].section)), true
}

func (e *entries) lastIn(of func(entry) bool) int {
	for i := len(e.all) - 1; i >= 0; i-- {
		if !e.all[i].inBraces && of(e.all[i]) {
			return i
		}
	}
	return -1
}

func (e *entries) after(at, depth int) spot {
	n := e.all[at]
	indent := n.line
	for indent < len(e.text) && (e.text[indent] == ' ' || e.text[indent] == '\t') {
		indent++
	}
	return spot{n.to, depth, string(e.text[n.line:indent])}
}
