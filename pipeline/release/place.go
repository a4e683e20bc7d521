package release

import (
	"slices"

	"github.com/pelletier/go-toml/v2/unstable"
)

// places finds the lines of a text's keys.
type places struct {
	text   []byte
	parser *unstable.Parser
	ends   []int // the offsets of the text's line ends
	twice  []twice
}

// twice is a key or a table that a text has again.
type twice struct {
	name        string // as written
	line, other int    // of this one, and of the first
}

// lineAt is the line of an offset.
func (p *places) lineAt(offset int) int {
	before, _ := slices.BinarySearch(p.ends, offset)
	return before + 1
}

// findPlaces is the tree of a text's keys, each with its line and text and no
// value yet. It stops where go-toml's parser stops.
func findPlaces(text []byte) *node {
	root, _ := findAll(text)
	return root
}

// findTwice is what a line of a text has that an earlier one has, too.
func findTwice(text []byte, line int) (twice, bool) {
	_, p := findAll(text)
	for _, t := range p.twice {
		if t.line == line {
			return t, true
		}
	}
	return twice{}, false
}

func findAll(text []byte) (*node, *places) {
	p := &places{text: text, parser: &unstable.Parser{}}
	for i, b := range text {
		if b == '\n' {
			p.ends = append(p.ends, i)
		}
	}
	p.parser.Reset(text)
	root := &node{line: 1}
	at := root
	for p.parser.NextExpression() {
		e := p.parser.Expression()
		switch e.Kind {
		case unstable.Table:
			at = p.header(root, e, "[", "]")
		case unstable.ArrayTable:
			at = p.header(root, e, "[[", "]]")
		case unstable.KeyValue:
			p.keyValue(at, e)
		}
	}
	return root, p
}

// header is the table that a [header] or [[header]] opens.
func (p *places) header(root *node, e *unstable.Node, open, shut string) *node {
	keys, line, written := p.key(e)
	written = open + written + shut
	at := root
	for _, key := range keys[:len(keys)-1] {
		at = at.child(key, line, written).last()
	}
	at = at.child(keys[len(keys)-1], line, written)
	if e.Kind == unstable.ArrayTable {
		at.list = append(at.list, &node{line: line, text: written})
		return at.last()
	}
	if at = at.last(); !at.header {
		// Until here only headers further in have named this table.
		at.line, at.text, at.header = line, written, true
		return at
	}
	p.twice = append(p.twice, twice{written, line, at.line})
	return at
}

// last is the table that headers and keys after n go into: the last one of
// repeated tables, or n.
func (n *node) last() *node {
	if len(n.list) > 0 {
		return n.list[len(n.list)-1]
	}
	return n
}

// keyValue enters a key of the table at, and what is in its value.
func (p *places) keyValue(at *node, e *unstable.Node) {
	keys, line, name := p.key(e)
	written := shown(p.parser.Raw(e.Raw))
	for i, key := range keys {
		if was, ok := at.table[key]; ok && i == len(keys)-1 {
			p.twice = append(p.twice, twice{name, line, was.line})
		}
		at = at.child(key, line, written)
	}
	p.value(at, e.Value())
}

// value enters the tables and elements within a value.
func (p *places) value(n *node, v *unstable.Node) {
	children := v.Children()
	switch v.Kind {
	case unstable.InlineTable:
		n.header = true
		for children.Next() {
			p.keyValue(n, children.Node())
		}
	case unstable.Array:
		for children.Next() {
			e := p.element(n, children.Node())
			n.list = append(n.list, e)
			p.value(e, children.Node())
		}
	}
}

// element is the node of an element of the array n. The parser does not say
// where an array within an array is, nor where a table in braces ends.
func (p *places) element(n *node, e *unstable.Node) *node {
	if e.Kind == unstable.Array {
		return &node{line: n.line, text: n.text}
	}
	line := p.lineAt(int(e.Raw.Offset))
	if e.Kind == unstable.InlineTable {
		return &node{line: line, text: "{...}"}
	}
	return &node{line: line, text: shown(p.parser.Raw(e.Raw))}
}

// key is a node's dotted key, its line, and how it is written.
func (p *places) key(e *unstable.Node) (keys []string, line int, written string) {
	var from, to uint32
	for it := e.Key(); it.Next(); {
		k := it.Node()
		if keys == nil {
			from = k.Raw.Offset
		}
		to = k.Raw.Offset + k.Raw.Length
		keys = append(keys, string(k.Data))
	}
	return keys, p.lineAt(int(from)), shown(p.text[from:to])
}
