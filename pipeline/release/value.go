package release

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"ledgerline/stages"
)

// fit is a value as the settings hold it, if it fits the key. Otherwise fault
// says what is wrong with it, as the rest of a sentence that begins with it.
func fit(key stages.Key, v any) (fitting any, fault string) {
	if key.Type == stages.List {
		return fitList(key, v)
	}
	x, ok := converted(key.Type, v)
	switch {
	case ok:
		fault = faultOf(key, x)
	case key.Type == stages.Number || key.Type == stages.Integer:
		return nil, mistypedNumber(key, v)
	default:
		return nil, mistyped(v, wanted(key))
	}
	if fault != "" {
		return nil, fault + "; want " + wanted(key)
	}
	return x, ""
}

// converted is a value in the Go type that settings of a type have, if it is of that type.
func converted(t stages.Type, v any) (x any, ok bool) {
	switch t {
	case stages.Number:
		if n, whole := v.(int64); whole {
			v = float64(n)
		}
		x, ok := v.(float64)
		return x + 0, ok // -0 becomes 0
	case stages.Integer:
		x, ok = v.(int64)
	case stages.Truth:
		x, ok = v.(bool)
	default:
		x, ok = v.(string)
	}
	return x, ok
}

// faultOf says why a value of the right type is none that a key takes; empty: it is one.
func faultOf(key stages.Key, v any) string {
	outside := false
	switch x := v.(type) {
	case float64:
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return "is not a finite number"
		}
		outside = x < key.Min || x > key.Max
	case int64:
		if len(key.Choices) > 0 && !slices.Contains(key.Choices, x) {
			return "is not one of the values"
		}
		outside = len(key.Choices) == 0 && (float64(x) < key.Min || float64(x) > key.Max)
	case string:
		if !slices.Contains(key.Words, x) {
			return "is not known"
		}
	}
	if outside {
		return "is out of range"
	}
	return ""
}

// fitList takes the words of a list in the order of the key's.
func fitList(key stages.Key, v any) (any, string) {
	if l, ok := v.(stages.WordList); ok {
		return l, "" // carried over from another kind's setting
	}
	list, ok := v.([]*node)
	if !ok {
		return nil, mistyped(v, wanted(key))
	}
	given := map[string]bool{}
	for _, e := range list {
		word, ok := e.value.(string)
		switch {
		case !ok:
			return nil, "has " + typeName(e.data()) + " in it; want " + wanted(key)
		case !slices.Contains(key.Words, word):
			return nil, fmt.Sprintf("has %q in it, which is not known; want %s", word, wanted(key))
		case given[word]:
			return nil, fmt.Sprintf("has %q in it twice; want it once", word)
		}
		given[word] = true
	}
	if len(list) == 0 {
		return nil, "names nothing; want " + wanted(key)
	}
	words := slices.DeleteFunc(slices.Clone(key.Words), func(w string) bool { return !given[w] })
	return stages.NewWordList(words), ""
}

// wanted names the values of a key.
func wanted(key stages.Key) string {
	switch {
	case key.Type == stages.Truth:
		return "true or false"
	case key.Type == stages.Word:
		return enumerate(quoted(key.Words), "or")
	case key.Type == stages.List:
		return "a list of " + enumerate(quoted(key.Words), "and")
	case len(key.Choices) > 0:
		choices := make([]string, len(key.Choices))
		for i, c := range key.Choices {
			choices[i] = strconv.FormatInt(c, 10)
		}
		return enumerate(choices, "or")
	}
	sort := "a number"
	if key.Type == stages.Integer {
		sort = "a whole number"
	}
	span := fmt.Sprintf("%s from %s to %s %s", sort, figure(key.Min), figure(key.Max), key.Unit)
	return strings.TrimSpace(span)
}

func quoted(words []string) []string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = strconv.Quote(w)
	}
	return quoted
}

// figure is a number as one would write it.
func figure(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// mistyped says that a value is of the wrong type, and how to write it where
// only the quotes are wrong.
func mistyped(v any, want string) string {
	text := "is " + typeName(v) + "; want " + want
	if s, ok := v.(string); ok && !strings.Contains(want, `"`) {
		if _, err := strconv.ParseFloat(s, 64); err == nil || s == "true" || s == "false" {
			text += ", without quotes"
		}
	}
	return text
}

// mistypedNumber says that a value is no number, and how to write it where it
// is a text of one with a decimal comma or a unit.
func mistypedNumber(key stages.Key, v any) string {
	text := mistyped(v, wanted(key))
	if s, ok := v.(string); ok {
		if hint := numberHint(key.Name, key.Unit, s, ""); hint != "" {
			text += hint + ", without quotes"
		}
	}
	return text
}

// typeName names the type of a value of a release file.
func typeName(v any) string {
	switch v.(type) {
	case string:
		return "a string"
	case int64:
		return "a whole number"
	case float64:
		return "a number with a decimal point"
	case bool:
		return "a truth value"
	case time.Time:
		return "a date or time"
	case []*node:
		return "a list"
	default:
		return "a table"
	}
}

// enumerate is "a, b or c", with the given word before the last.
func enumerate(words []string, before string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	n := len(words) - 1
	return strings.Join(words[:n], ", ") + " " + before + " " + words[n]
}

// meant is the end of a sentence about an unknown word: the nearest known one,
// or nothing.
func meant(written string, known []string) string {
	if _, ok := marksApart(written, known); ok {
		return "; copy the name from the file: its accents are signs of their own (decomposed Unicode)"
	}
	if k, ok := Nearest(written, known); ok {
		return fmt.Sprintf("; did you mean %q?", k)
	}
	return ""
}

// printable reports whether a name can be shown and written down as it is.
func printable(s string) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, unicode.IsControl)
}
