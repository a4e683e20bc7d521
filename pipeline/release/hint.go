package release

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"ledgerline/stages"
)

// repeatedTables are the tables that are written in double brackets, once for each
// thing that they describe.
var repeatedTables = []string{"stage", "delivery", "delivery.stage", "delivery.coder"}

// isRepeated says whether a header in single brackets is that of such a table.
func isRepeated(written string) bool {
	m := singleTable().FindStringSubmatch(written)
	return m != nil && slices.Contains(repeatedTables, m[1])
}

// singleTable and settingLine are lines that are not TOML, or not in their
// place, and yet say what was meant.
var (
	singleTable = compiled(`^\s*\[{1,2}\s*([^\[\]]*?)\s*\]{1,2}\s*(#.*)?$`)
	settingLine = compiled(`(?:^|[\s{.,])([A-Za-z0-9_]+)\s*=\s*([^#={}]*?)\s*(?:}\s*)?(#.*)?$`)
	number      = compiled(`^([+-]?)(\d+)(?:[.,](\d+))?\s*([A-Za-z%]*)$`)
	pointAtEnd  = compiled(`^([+-]?)(\d*)\.(\d*)$`)
	plainText   = compiled(`^\pL[\pL\pN _./*-]*$`)
	minusSigns  = strings.NewReplacer("\u2212", "-", "\u2013", "-") // the typographic ones
)

// compiled is a regular expression that is compiled where it is first wanted: most runs of the program want
// none.
func compiled(pattern string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(pattern) })
}

// curlyQuotes are the quotes that a word processor writes.
const curlyQuotes = "\u201c\u201d\u201e\u2018\u2019\u201a"

// mostHinted is how long a key or a number may be that a hint repeats.
const mostHinted = 64

// tomlHint is what to write instead of a line that is not TOML, as the end of
// a sentence, or nothing where that cannot be told. What it is about is the line
// without the comment at its end, as far as that is known to be one.
func tomlHint(line, why string) (about, hint string) {
	if m := singleTable().FindStringSubmatch(line); m != nil && slices.Contains(repeatedTables, m[1]) &&
		strings.Contains(why, "already") {
		one := strings.TrimPrefix(m[1], "delivery.")
		return beforeComment(line, m[2]), "; write [[" + m[1] + "]], in double brackets, for each " + one
	}
	switch {
	case strings.Contains(why, "invalid UTF-8"):
		return line, "; save the file as UTF-8, which TOML is"
	case strings.Contains(why, "invalid escape"):
		return line, `; \ begins an escape in double quotes; write / between folders`
	case strings.Contains(why, "expected value") && strings.ContainsAny(line, curlyQuotes):
		return line, `; want straight quotes, as in "text"`
	}
	m := settingLine().FindStringSubmatch(line)
	if m == nil || len(m[1]) > mostHinted {
		return line, ""
	}
	hint = cmp.Or(numberHint(m[1], unitOf(m[1]), m[2], ""), floatHint(m[2]))
	if hint == "" && strings.Contains(why, "expected value but found") {
		hint = textHint(m[2])
	}
	return beforeComment(line, m[3]), hint
}

// beforeComment is a line without the comment that it ends with.
func beforeComment(line, comment string) string {
	return strings.TrimSpace(strings.TrimSuffix(line, comment))
}

// textHint is what to write instead of a text without quotes.
func textHint(text string) string {
	switch lower := strings.ToLower(text); {
	case len(text) > mostHinted, !plainText().MatchString(text):
		return ""
	case lower == "true", lower == "false":
		return "; write " + lower
	}
	return fmt.Sprintf("; write %q, in quotes", text)
}

// floatHint is what to write instead of a number that TOML does not take.
func floatHint(text string) string {
	if len(text) > mostHinted {
		return ""
	}
	text = minusSigns.Replace(text)
	if m := pointAtEnd().FindStringSubmatch(text); m != nil && m[2]+m[3] != "" {
		return "; write " + m[1] + cmp.Or(m[2], "0") + "." + cmp.Or(m[3], "0")
	}
	if _, err := strconv.ParseFloat(text, 64); errors.Is(err, strconv.ErrRange) {
		return "; no setting takes a number of that size"
	}
	return ""
}

// numberHint is what to write where a number has a decimal comma or a unit, as
// the end of a sentence; the number is put in the quotes given. It is empty
// where the text is neither.
func numberHint(key, unit, text, quote string) string {
	typed := strings.TrimSpace(text)
	text = minusSigns.Replace(typed)
	m := number().FindStringSubmatch(text)
	if m == nil || len(text) > mostHinted {
		return ""
	}
	plain := m[1] + m[2]
	if m[3] != "" {
		plain += "." + m[3]
	}
	plain = quote + plain + quote
	switch {
	case m[4] == "" && (strings.Contains(text, ",") || text != typed):
		return "; write " + plain
	case m[4] == "":
		return ""
	case unit != "" && sameUnit(unit, m[4]):
		return "; " + key + " is in " + unit + " already: write " + plain
	case unit != "":
		return "; " + key + " is in " + unit + ": write a number alone"
	}
	return "; write a number alone"
}

// sameUnit reports whether a unit that was written after a number is that of
// the key. Levels are often written in plain decibels.
func sameUnit(unit, written string) bool {
	levels := []string{"dBFS", "dBTP"}
	return strings.EqualFold(unit, written) ||
		strings.EqualFold(written, "dB") && slices.Contains(levels, unit) ||
		strings.EqualFold(unit+"s", written) || strings.EqualFold(unit, written+"s")
}

// unitOf is the unit of a key by that name, of any kind of stage; empty where
// there is no such key, or where it has none.
func unitOf(name string) string {
	for _, kind := range stages.Kinds() {
		if key, ok := kind.Key(name); ok {
			return key.Unit
		}
	}
	if name == releaseCeiling.Name {
		return releaseCeiling.Unit
	}
	return ""
}
