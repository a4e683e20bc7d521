package release

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"github.com/BurntSushi/toml"
)

// A node is one value of a release file and where it is.
//
// BurntSushi/toml reads the values and says what is not TOML. It has no place
// for a key in one of several [[stage]] tables, so go-toml's parser walks the
// text a second time, for the places only; both trees are laid over each other.
type node struct {
	line   int
	text   string           // as written, for messages: `gain_db = "4"`, `[[stage]]`
	keys   []string         // of a table, in the order of the file
	table  map[string]*node // of a table
	list   []*node          // of an array and of repeated tables
	value  any              // of anything else: string, int64, float64, bool, time.Time
	header bool             // a table with a header of its own, or one in braces
}

// data is the node's value, table or list.
func (n *node) data() any {
	switch {
	case n.table != nil:
		return n.table
	case n.list != nil:
		return n.list
	}
	return n.value
}

// lines are the lines of a table's keys.
func (n *node) lines() map[string]int {
	lines := make(map[string]int, len(n.table))
	for key, value := range n.table {
		lines[key] = value.line
	}
	return lines
}

// parse reads the text of a release file into its table, or reports what is not TOML:
// the one problem that a reader stops at.
func (c *checker) parse(text []byte) *node {
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	if line := tooDeep(text); line > 0 {
		c.add(line, "not TOML that a release has: more than %d brackets open or dots in one line", deepest)
		return nil
	}
	values, problem := readValues(text)
	if problem != nil {
		c.add(problem.Line, "%s", problem.Text)
		return nil
	}
	root := findPlaces(text)
	root.fill(values)
	return root
}

// deepest is more than any release file nests its tables and lists. The time
// and the memory that reading takes grow with the square of the depth.
const deepest = 1000

// tooDeep is the line at which a text nests too deeply, or 0. It also counts
// what is in strings and comments, which never have so much of it.
func tooDeep(text []byte) int {
	line, open, dots := 1, 0, 0
	for _, b := range text {
		switch b {
		case '[', '{':
			open++
		case ']', '}':
			open = max(open-1, 0)
		case '.':
			dots++
		case '\n':
			line, dots = line+1, 0
		}
		if open > deepest || dots > deepest {
			return line
		}
	}
	return 0
}

// readValues is the part of BurntSushi/toml.
func readValues(text []byte) (values map[string]any, problem *Problem) {
	// The library panics in states that it holds for impossible. None is known
	// to be reached, but a file must not end the program.
	defer func() {
		if r := recover(); r != nil {
			problem = &Problem{Line: 1, Text: fmt.Sprintf("not to be read as TOML: %v", r)}
		}
	}()
	err := toml.Unmarshal(text, &values)
	var at toml.ParseError
	if errors.As(err, &at) {
		return nil, notTOML(text, at)
	}
	if err != nil {
		return nil, &Problem{Line: 1, Text: "not to be read as TOML: " + err.Error()}
	}
	return values, nil
}

// missingEnd is the sign that a line which is not TOML lacks at its end; empty: it may be anything else.
func missingEnd(why string) string {
	switch {
	case strings.Contains(why, "strings cannot contain newlines"):
		return "a quote"
	case strings.Contains(why, "end table name") || strings.Contains(why, "end of table"):
		if !strings.Contains(why, `got '\n'`) {
			return ""
		}
		return "a bracket"
	}
	return ""
}

// notTOML says where and why a text is not TOML. The line is counted from the
// error's offset: the library's own is one too far where a line ends early.
func notTOML(text []byte, at toml.ParseError) *Problem {
	start := min(max(at.Position.Start, 0), len(text))
	line := 1 + bytes.Count(text[:start], []byte("\n"))
	why := strings.TrimSuffix(strings.Map(plain, at.Message), ".")
	written := lineOf(text, start)
	if t, ok := findTwice(text, line); ok && strings.Contains(why, "already") && !isRepeated(t.name) {
		if written != t.name {
			t.name = written + ": " + t.name
		}
		return &Problem{
			Line: line, Text: fmt.Sprintf("%s is there twice, the other one at line %d; leave out one of the two",
				t.name, t.other),
		}
	}
	if about, hint := tomlHint(string(rawLine(text, start)), at.Message); hint != "" && written != "" {
		return &Problem{Line: line, Text: shown([]byte(about)) + ": " + strings.TrimPrefix(hint, "; ")}
	}
	if end := missingEnd(why); end != "" && written != "" {
		return &Problem{Line: line, Text: written + ": " + end + " is missing at its end"}
	}
	if written != "" {
		why += ": " + written
	}
	if strings.Contains(why, "to end table name, but got '") && !strings.Contains(why, `'\n'`) {
		why += "; want a name in quotes where it is more than a word"
	}
	return &Problem{Line: line, Text: "not TOML: " + why}
}

// lineOf is the line around an offset, as messages show it.
func lineOf(text []byte, at int) string { return shown(rawLine(text, at)) }

// rawLine is the line around an offset as it is, without blanks at its ends.
func rawLine(text []byte, at int) []byte {
	from := bytes.LastIndexByte(text[:at], '\n') + 1
	line, _, _ := bytes.Cut(text[from:], []byte("\n"))
	return bytes.TrimSpace(line)
}

// shown is a stretch of a release file as messages show it: its first line,
// not too long, and nothing in it that could upset a terminal.
func shown(b []byte) string {
	b = bytes.TrimSpace(b)
	first, _, more := bytes.Cut(b, []byte("\n"))
	r := []rune(strings.TrimSpace(strings.Map(plain, strings.ToValidUTF8(string(first), "?"))))
	if len(r) > 72 {
		r, more = r[:72], true
	}
	if more {
		r = append(r, []rune(" ...")...)
	}
	return string(r)
}

// plain is a rune where it can be shown, and a blank where it cannot.
func plain(r rune) rune {
	if !unicode.IsPrint(r) {
		return ' '
	}
	return r
}

// fill lays the values over the places.
func (n *node) fill(v any) {
	switch v := v.(type) {
	case map[string]any:
		n.list = nil
		n.fillTable(v)
	case []map[string]any:
		fillList(n, v)
	case []any:
		fillList(n, v)
	default:
		n.table, n.keys, n.list, n.value = nil, nil, nil, v
	}
}

// fillList leaves n.list not nil, also where the array is empty.
func fillList[V any](n *node, values []V) {
	n.table, n.keys = nil, nil
	list := make([]*node, len(values))
	for i, v := range values {
		if list[i] = (&node{line: n.line, text: n.text}); i < len(n.list) {
			list[i] = n.list[i]
		}
		list[i].fill(v)
	}
	n.list = list
}

func (n *node) fillTable(values map[string]any) {
	if n.table == nil {
		n.table = map[string]*node{}
	}
	n.keys = slices.DeleteFunc(n.keys, func(key string) bool {
		_, ok := values[key]
		return !ok
	})
	if len(n.keys) < len(values) {
		n.addMissing(values)
	}
	for _, key := range n.keys {
		n.table[key].fill(values[key])
	}
}

// addMissing makes nodes for the keys that the second walk did not come to,
// where the one parser reads what the other does not.
func (n *node) addMissing(values map[string]any) {
	for _, key := range slices.Sorted(maps.Keys(values)) {
		n.child(key, n.line, key)
	}
}

// child is the node of a key, made where there was none.
func (n *node) child(key string, line int, text string) *node {
	if c, ok := n.table[key]; ok {
		return c
	}
	if n.table == nil {
		n.table = map[string]*node{}
	}
	c := &node{line: line, text: text}
	n.table[key] = c
	n.keys = append(n.keys, key)
	return c
}
