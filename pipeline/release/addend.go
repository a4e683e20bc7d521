package release

import (
	"fmt"
	"maps"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"ledgerline/stages"
)

// addend is what a variant adds to a stage's setting, whatever that is without
// the variant.
type addend struct {
	text string // a decimal number with its sign, as written: "+1.5"
	line int
}

var signedNumber = compiled(`^[+-][0-9]+(\.[0-9]+)?$`)

// addendKey takes a variant's key that is to be added to a setting into the
// override, and reports whether it is one: a Number given as a text.
func (c *checker) addendKey(label string, kind stages.Kind, name string, n *node, into *stageOverride) bool {
	key, ok := kind.Key(name)
	text, quoted := n.value.(string)
	if !ok || key.Type != stages.Number || !quoted {
		return false
	}
	if isSigned(n) && len(text) <= mostDigits {
		into.addends[name] = addend{text, n.line}
		return true
	}
	hint, quote := "; want "+wanted(key)+", without quotes, or one with its sign in quotes, such as \"+1.5\",",
		""
	if strings.HasPrefix(text, "+") || strings.HasPrefix(text, "-") {
		quote = `"`
	}
	if h := numberHint(key.Name, key.Unit, text, quote); h != "" && quote != "" {
		hint = h
	}
	c.add(n.line, "%s%s is a string%s to add to what a track has", label, n.text, hint)
	return true
}

// isSigned reports whether a value is a number with its sign, in quotes.
func isSigned(n *node) bool {
	text, _ := n.value.(string)
	return signedNumber().MatchString(text)
}

// mostDigits is how long such a number may be, which is more than a float has.
const mostDigits = 32

// added is a setting and what a variant adds to it, as one would add the two
// numbers on paper: 3.1 and +0.2 are 3.3, which sums of floats are not always.
func added(base float64, a addend) float64 {
	x, _ := new(big.Rat).SetString(strconv.FormatFloat(base, 'f', -1, 64))
	y, _ := new(big.Rat).SetString(a.text)
	sum, _ := x.Add(x, y).Float64()
	return sum
}

// addTo adds what a variant adds to a stage's settings, of which those that
// are not given have the kind's default. What has none stays away; addends
// has reported it.
func (ch stageOverride) addTo(settings stages.Settings, kind stages.Kind) {
	for name, a := range ch.addends {
		if base, ok := baseOf(settings, kind, name); ok {
			settings[name] = added(base, a)
		}
	}
}

// baseOf is the number that a stage has in a setting.
func baseOf(settings stages.Settings, kind stages.Kind, name string) (float64, bool) {
	if v, given := settings[name]; given {
		x, ok := v.(float64)
		return x, ok
	}
	key, _ := kind.Key(name)
	x, ok := key.Default.(float64)
	return x, ok
}

// addends checks what variants add to settings, in the chain of the release
// and in that of every track with a table: that there is a number to add to,
// and that the sum is in range. Each is reported once.
func (c *checker) addends(d *draft) {
	for v := range d.variants {
		for _, s := range d.stages {
			ch := d.variants[v].stages[s.name]
			if !s.sound || d.variants[v].skips(s.name) {
				continue
			}
			for _, name := range slices.Sorted(maps.Keys(ch.addends)) {
				c.addend(d, &d.variants[v], s, name)
			}
		}
	}
}

// addend checks one key of one variant.
func (c *checker) addend(d *draft, variant *override, s stageDraft, name string) {
	ch := variant.stages[s.name]
	a := ch.addends[name]
	kind, _ := stages.KindNamed(s.kindIn(variant))
	key, _ := kind.Key(name)
	first, more := "", 0
	for t := range len(d.tracks) + 1 {
		track := orNone(d.tracks, t)
		if track.skips(s.name) {
			continue
		}
		fault := faultOfSum(d.base(variant, track, s), kind, key, a)
		switch {
		case fault == "":
		case first != "":
			more++
		default:
			first = fault
			if track != nil {
				first += ", in " + strings.TrimSuffix(track.label, ": ")
			}
		}
	}
	if first != "" {
		c.add(a.line, "%sstage %q: %s = %q %s%s; want %s", variant.label, s.name, name, a.text, first,
			andMore(more), wanted(key))
	}
}

// faultOfSum says what is wrong with what a variant adds to a setting, as the
// rest of a sentence that begins with it.
func faultOfSum(settings stages.Settings, kind stages.Kind, key stages.Key, a addend) string {
	base, ok := baseOf(settings, kind, key.Name)
	if !ok {
		return "has no number to be added to"
	}
	sum := added(base, a)
	if sum < key.Min || sum > key.Max {
		return fmt.Sprintf("on top of %s is %s, which is out of range", figure(base), figure(sum))
	}
	return ""
}

// kindIn is the kind that a stage has in a variant.
func (s stageDraft) kindIn(variant *override) string {
	if v := variant.of(s.name); v.kind != "" {
		return v.kind
	}
	return s.kind
}

// base is what a stage has in a chain before a variant adds to it: its own
// settings, as far as its kind there has them, changed by the variant and then
// by the track.
func (d *draft) base(variant, track *override, s stageDraft) stages.Settings {
	kindName := s.kindIn(variant)
	kind, _ := stages.KindNamed(kindName)
	settings := maps.Clone(s.settings)
	if kindName != s.kind {
		settings = carried(s.settings, kind)
	}
	maps.Copy(settings, variant.of(s.name).settings)
	maps.Copy(settings, carried(track.of(s.name).settings, kind))
	return settings
}
