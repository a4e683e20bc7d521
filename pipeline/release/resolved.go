package release

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Resolved is what a release file says together with the file that it inherits from: a release file of the
// same meaning that inherits nothing, with a comment after each key that says from which line of which file
// it is. Its errors are those of Load.
func Resolved(path string) (string, error) {
	text, err := read(path)
	if err != nil {
		return "", err
	}
	if _, err := understood(path, text); err != nil {
		return "", err
	}
	c, err := newChecker(path)
	if err != nil {
		return "", err
	}
	p := resolvedPrinter{c: c}
	p.table(nil, c.tree(text))
	return p.text.String(), nil
}

// resolvedPrinter writes the tree of a release file as TOML.
type resolvedPrinter struct {
	c    *checker
	text strings.Builder
}

// table writes the keys of a table that has a header, and then the tables in it that have headers of their
// own: at the top all of them, below [variant] and [track] those with names, and in a delivery its stages.
func (p *resolvedPrinter) table(path []string, n *node) {
	for _, key := range n.keys {
		if v := n.table[key]; !headed(path, key, v) {
			p.keys([]string{key}, v)
		}
	}
	for _, key := range n.keys {
		v := n.table[key]
		if !headed(path, key, v) {
			continue
		}
		in := append(append([]string(nil), path...), key)
		if v.tables() {
			for _, e := range v.list {
				p.header("[[", in, "]]")
				p.table(in, e)
			}
			continue
		}
		if !grouping(in) {
			p.header("[", in, "]")
		}
		p.table(in, v)
	}
}

// headed says whether the value of a key has a header of its own.
func headed(path []string, key string, v *node) bool {
	if v.tables() {
		return true
	}
	return v.table != nil && (len(path) == 0 || len(path) == 1 && grouping(path))
}

// grouping says whether a table only has other tables in it.
func grouping(path []string) bool {
	return len(path) == 1 && (path[0] == "variant" || path[0] == "track")
}

func (p *resolvedPrinter) header(open string, path []string, shut string) {
	if p.text.Len() > 0 {
		p.text.WriteByte('\n')
	}
	p.text.WriteString(open + dotted(path...) + shut + "\n")
}

// keys writes a key, or the keys of a table that has no header.
func (p *resolvedPrinter) keys(path []string, n *node) {
	if len(n.table) > 0 {
		for _, key := range n.keys {
			p.keys(append(append([]string(nil), path...), key), n.table[key])
		}
		return
	}
	at := p.c.problem(n.line, "")
	fmt.Fprintf(&p.text, "%s = %s  # %s:%d\n", dotted(path...), tomlValue(n), at.File, at.Line)
}

// tomlValue is a value as TOML.
func tomlValue(n *node) string {
	switch v := n.data().(type) {
	case map[string]*node:
		parts := make([]string, len(n.keys))
		for i, key := range n.keys {
			parts[i] = dotted(key) + " = " + tomlValue(v[key])
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case []*node:
		parts := make([]string, len(v))
		for i, e := range v {
			parts[i] = tomlValue(e)
		}
		return "[" + strings.Join(parts, ", ") + "]"
	case string:
		return tomlString(v)
	case float64:
		text := strconv.FormatFloat(v, 'f', -1, 64)
		if !strings.Contains(text, ".") {
			text += ".0"
		}
		return text
	case time.Time:
		return v.Format(time.RFC3339Nano)
	default:
		return fmt.Sprint(v)
	}
}
