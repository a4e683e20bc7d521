package release

import (
	"fmt"
	"slices"
	"strings"

	"ledgerline/stages"
)

// Coder is a coder that a delivery goes through, to find out what becomes of its peaks: two programs and
// their arguments. What they make is read and not kept.
type Coder struct {
	Name   string
	Encode []string // a program and its arguments, with the placeholders of encodePlaceholders
	Decode []string // the same, with those of decodePlaceholders
	At     string   // where it is: "release.toml:41"

	TruePeakMaxDBTP *float64 // what comes back must not pass it; nil: it is only read
	TimeLimitS      float64  // of each of the two programs
	Solve           bool     // the delivery's last hold is lowered until it does not
}

// The placeholders in the arguments of a coder's programs.
const (
	PlaceIn   = "{in}"   // the delivery's file, or a copy of it
	PlaceOut  = "{out}"  // a path without an extension, for the coded file
	PlaceBack = "{back}" // the path of a WAV file, for what is decoded
)

// Limits of coders.
const (
	mostCoders    = 20
	mostArguments = 100
	mostArgument  = 1000 // bytes
)

// coderDraft is a [[delivery.coder]] as written.
type coderDraft struct {
	Coder
	label string
	line  int
}

// coderKeys are the keys of a [[delivery.coder]].
var coderKeys = []string{"name", "encode", "decode", "true_peak_max_dbtp", "time_limit_s", "solve"}

var (
	coderPeakKey = stages.Key{Name: "true_peak_max_dbtp", Type: stages.Number, Min: -60, Max: 20, Unit: "dBTP"}
	coderTimeKey = stages.Key{
		Name: "time_limit_s", Type: stages.Number, Min: 1, Max: 86400, Unit: "s", Default: 600.0,
	}
)

// placeholder is a word in braces.
var placeholder = compiled(`\{[A-Za-z_]*\}`)

// coders checks the tables [[delivery.coder]] of a delivery.
func (c *checker) coders(x *deliveryDraft, n *node) {
	const want = "a table [[delivery.coder]] for each coder"
	switch {
	case n == nil:
		return
	case n.table != nil:
		c.add(n.line, "%s%s is a single table; write [[delivery.coder]], in double brackets, for each coder",
			x.label, n.text)
		return
	case n.list == nil:
		c.mistyped(x.label, n, want)
		return
	case len(n.list) > mostCoders:
		c.add(n.list[mostCoders].line, "%s%d coders; want at most %d", x.label, len(n.list), mostCoders)
		return
	}
	lines := map[string]int{}
	for i, t := range n.list {
		if !c.isTable(t, want) {
			continue
		}
		d := c.coder(x, i, t)
		if line, twice := lines[d.Name]; twice && d.Name != "" {
			c.add(d.line, "%stwo coders are named %q, the other one at line %d; give each a name of its own", x.label,
				d.Name, line&^inHouse)
		}
		lines[d.Name] = d.line
		x.coders = append(x.coders, d)
	}
}

// coder checks one table.
func (c *checker) coder(x *deliveryDraft, i int, t *node) coderDraft {
	d := coderDraft{label: fmt.Sprintf("%scoder %d: ", x.label, i+1), line: t.line}
	d.TimeLimitS = coderTimeKey.Default.(float64)
	if n := t.table["name"]; n != nil {
		d.Name, d.line = c.shortName(d.label, n), n.line
	} else if !misspelt("name", t.keys, coderKeys) {
		c.add(t.line, "%sname is missing; want one for the ledger, such as name = \"aac256\"", d.label)
	}
	if d.Name != "" {
		d.label = fmt.Sprintf("%scoder %q: ", x.label, d.Name)
	}
	for _, key := range t.keys {
		c.coderKey(&d, key, t.table[key])
	}
	d.Encode = c.program(d, t, "encode", PlaceIn, PlaceOut)
	d.Decode = c.program(d, t, "decode", PlaceOut, PlaceBack)
	if n := t.table["solve"]; n != nil && d.Solve {
		c.solvable(x, &d, n)
	}
	p := c.problem(d.line, "")
	d.At = fmt.Sprintf("%s:%d", p.File, p.Line)
	return d
}

// coderKey takes one key of a table, unless another place does.
func (c *checker) coderKey(d *coderDraft, key string, n *node) {
	switch key {
	case "name", "encode", "decode":
	case coderPeakKey.Name:
		if v, ok := c.setting(d.label, coderPeakKey, n); ok {
			limit := v.(float64)
			d.TruePeakMaxDBTP = &limit
		}
	case coderTimeKey.Name:
		if v, ok := c.setting(d.label, coderTimeKey, n); ok {
			d.TimeLimitS = v.(float64)
		}
	case "solve":
		d.Solve = c.truth(d.label, n)
	default:
		c.unknown(n.line, d.label+"a coder has no key ", key, coderKeys)
	}
}

// program checks a program and its arguments: each of the placeholders must be in them, and no other.
func (c *checker) program(d coderDraft, t *node, key, from, to string) []string {
	want := fmt.Sprintf(`a list of a program and its arguments, with %q for the file that it reads and %q for `+
		`the one that it writes`, from, to)
	n := t.table[key]
	switch {
	case n == nil:
		if !misspelt(key, t.keys, coderKeys) {
			c.add(t.line, "%s%s is missing; want %s", d.label, key, want)
		}
		return nil
	case n.list == nil:
		c.mistyped(d.label, n, want)
		return nil
	case len(n.list) == 0:
		c.add(n.line, "%s%s names no program; want %s", d.label, n.text, want)
		return nil
	case len(n.list) > mostArguments:
		c.add(n.line, "%s%s has %d arguments; want at most %d", d.label, key, len(n.list)-1, mostArguments)
		return nil
	}
	args := make([]string, len(n.list))
	found := map[string]bool{}
	for i, e := range n.list {
		text, ok := e.value.(string)
		switch {
		case !ok:
			c.mistyped(d.label+key+": ", e, "an argument in quotes")
			return nil
		case len(text) > mostArgument:
			c.add(e.line, "%s%s: an argument of %d bytes; want at most %d", d.label, key, len(text), mostArgument)
			return nil
		case strings.ContainsRune(text, 0):
			c.add(e.line, "%s%s: %s has a zero byte; want a text", d.label, key, e.text)
			return nil
		case i == 0 && (text == "" || placeholder().MatchString(text)):
			c.add(e.line, "%s%s: %s is no program; want a program before its arguments", d.label, key, e.text)
			return nil
		}
		for _, p := range placeholder().FindAllString(text, -1) {
			if p != from && p != to {
				c.add(e.line, "%s%s: %q in %q is no placeholder of it; want %q for the file that it reads, or %q for "+
					"the one that it writes", d.label, key, p, text, from, to)
				return nil
			}
			found[p] = true
		}
		args[i] = text
	}
	for _, p := range []string{from, to} {
		if !found[p] {
			c.add(n.line, "%s%s has no %q; want %s", d.label, key, p, want)
		}
	}
	return args
}

// solvable reports a coder for which no ceiling can be sought.
func (c *checker) solvable(x *deliveryDraft, d *coderDraft, n *node) {
	if d.TruePeakMaxDBTP == nil {
		c.add(n.line, "%ssolve = true seeks a ceiling for a limit; want true_peak_max_dbtp, too", d.label)
	}
	if x.lastHold() == "" {
		c.add(n.line, "%ssolve = true lowers a ceiling_hold of the delivery's own, and it has none; add a "+
			"[[delivery.stage]] of that kind, or leave solve out", d.label)
	}
}

// lastHold is the name of the last hold among a delivery's own stages; empty: there is none.
func (x *deliveryDraft) lastHold() string {
	for _, s := range slices.Backward(x.stages) {
		if s.kind == holdKind {
			return s.name
		}
	}
	return ""
}

// holdKind is the kind whose ceiling a solved coder lowers.
const holdKind = "ceiling_hold"

// plain are a delivery's coders as renders have them.
func (x *deliveryDraft) plainCoders() (all []Coder) {
	for _, d := range x.coders {
		all = append(all, d.Coder)
	}
	return all
}
