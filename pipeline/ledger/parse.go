package ledger

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"

	"ledgerline/stages"
)

// decode fills l from its JSON text.
func (l *Ledger) decode(text []byte, name string) error {
	if len(bytes.TrimSpace(text)) == 0 {
		return fmt.Errorf("%s: not a ledger: the file is empty", name)
	}
	err := json.Unmarshal(text, l)
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		return fmt.Errorf("%s: not a ledger, which is JSON: %w", place(name, text, syntax.Offset), syntax)
	}
	// A later schema explains every other mistake, so it is reported first: the
	// schema is read even where another value has a wrong type.
	if l.Schema > Schema {
		return newer(l, name)
	}
	if err != nil {
		return wrongType(err, name, text)
	}
	if err := l.fault(); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// fault finds contradictions in a ledger that was read, and restores the types of its settings.
func (l *Ledger) fault() error {
	if l.Schema < 1 || l.Schema > Schema {
		return errors.New(`not a ledger: want a "schema" of 1 or more`)
	}
	for i := range l.Tracks {
		if err := l.Tracks[i].check(); err != nil {
			return fmt.Errorf("track %q: %w", l.Tracks[i].label(), err)
		}
	}
	if twice, found := l.repeated(); found {
		return fmt.Errorf("track %q is in it twice", twice)
	}
	return nil
}

// newer is the error for a ledger of a later schema.
func newer(l *Ledger, name string) error {
	by := ""
	if l.Tool != "" {
		by = fmt.Sprintf(", written by %q", l.Tool)
	}
	return fmt.Errorf("%s: a ledger of schema %d%s; this version reads schema %d and older: use the version "+
		"that wrote it, or a later one",
		name, l.Schema, by, Schema)
}

// wrongType is the error for JSON that does not have a ledger's form.
func wrongType(err error, name string, text []byte) error {
	var t *json.UnmarshalTypeError
	if !errors.As(err, &t) {
		return fmt.Errorf("%s: not a ledger: %w", name, err)
	}
	at := place(name, text, t.Offset)
	if t.Field == "" {
		return fmt.Errorf("%s: not a ledger: it is %[2]s, want an object", at, article(t.Value))
	}
	return fmt.Errorf("%s: not a ledger: %q cannot be %s", at, t.Field, article(t.Value))
}

// article puts "a" or "an" before what encoding/json calls a value.
func article(value string) string {
	switch {
	case value == "null":
		return value
	case strings.HasPrefix(value, "array"), strings.HasPrefix(value, "object"):
		return "an " + value
	}
	return "a " + value
}

// place is name:line:column of a byte offset. An offset just after the end
// belongs to the last line.
func place(name string, text []byte, offset int64) string {
	before := text[:max(0, min(offset-1, int64(len(text))))]
	line := 1 + bytes.Count(before, []byte("\n"))
	column := len(before) - bytes.LastIndexByte(before, '\n')
	return fmt.Sprintf("%s:%d:%d", name, line, column)
}

// Version tells a render from others of its track: "plain", "disc" or "plain, disc". It is empty where
// both the variant and the delivery are.
func Version(variant, delivery string) string {
	if variant == "" || delivery == "" {
		return variant + delivery
	}
	return variant + ", " + delivery
}

// Version tells the entry from others of its track.
func (t *Track) Version() string { return Version(t.Variant, t.Delivery) }

// Label is the name of a track's render in errors and tables: "01 quay", or of another version
// "01 quay (plain)".
func Label(track, version string) string {
	if version == "" {
		return track
	}
	return track + " (" + version + ")"
}

func (t *Track) label() string { return Label(t.Name, t.Version()) }

// repeated finds two entries of one render.
func (l *Ledger) repeated() (string, bool) {
	seen := map[trackKey]bool{}
	for i := range l.Tracks {
		key := l.Tracks[i].key()
		if seen[key] {
			return l.Tracks[i].label(), true
		}
		seen[key] = true
	}
	return "", false
}

// trackKey identifies an entry of a ledger.
type trackKey struct{ name, variant, delivery string }

func (t *Track) key() trackKey { return trackKey{t.Name, t.Variant, t.Delivery} }

// check finds contradictions in a track that was read, and restores the types of its
// settings.
func (t *Track) check() error {
	if t.Name == "" {
		return errors.New("it has no name")
	}
	if len(t.Stages) != len(t.Chain) {
		return fmt.Errorf("%[2]d stages, want as many as in its chain, %[1]d", len(t.Chain), len(t.Stages))
	}
	if len(t.Boundaries) != len(t.Chain)+1 {
		return fmt.Errorf("%[2]d boundaries, want one more than stages, %[1]d", len(t.Chain)+1, len(t.Boundaries))
	}
	t.dropRanges()
	seen := map[string]bool{}
	for k := range t.Chain {
		s := t.Chain[k]
		switch name := s.Name; {
		case name == "":
			return fmt.Errorf("stage %d has no name", k+1)
		case seen[name]:
			return fmt.Errorf("two of its stages are named %q", name)
		case t.Stages[k].Stage != name || t.Boundaries[k+1].Stage != name:
			return fmt.Errorf("stage %d is %q in the chain, but %q in the stages and %q in the boundaries",
				k+1, name, t.Stages[k].Stage, t.Boundaries[k+1].Stage)
		}
		seen[s.Name] = true
		if err := retype(s); err != nil {
			return fmt.Errorf("stage %q: %w", s.Name, err)
		}
	}
	return t.checkRequirements(seen)
}

// dropRanges takes away the loudness range where there is no short-term loudness that it could be of: earlier
// versions recorded 0 there.
func (t *Track) dropRanges() {
	for k := range t.Boundaries {
		if b := &t.Boundaries[k]; b.ShortTermMaxLUFS == nil {
			b.LoudnessRangeLU = nil
		}
	}
}

// checkRequirements finds requirements of no stage, and two of one kind.
func (t *Track) checkRequirements(stages map[string]bool) error {
	seen := map[[2]string]bool{}
	for _, r := range t.Requirements {
		id := [2]string{r.Stage, r.Key}
		switch {
		case !stages[r.Stage]:
			return fmt.Errorf("requirement %q belongs to stage %q, which is not in its chain", r.Key, r.Stage)
		case seen[id]:
			return fmt.Errorf("requirement %q of stage %q is in it twice", r.Key, r.Stage)
		}
		seen[id] = true
	}
	return nil
}

// retype turns JSON's numbers into the types of the kind's keys, so that the
// settings read are those that were written. A kind or a key that this version
// does not know keeps JSON's type.
func retype(s stages.Use) error {
	kind, _ := stages.KindNamed(s.Kind)
	for name, v := range s.Settings {
		switch v := v.(type) {
		case string, bool:
		case []any:
			words, ok := wordsOf(v)
			if !ok {
				return fmt.Errorf("setting %q is a list of more than words", name)
			}
			s.Settings[name] = stages.NewWordList(words)
		case float64:
			key, _ := kind.Key(name)
			if key.Type == stages.Integer && v == math.Trunc(v) && math.Abs(v) <= 1<<53 {
				s.Settings[name] = int64(v)
			}
		default:
			return fmt.Errorf("setting %q is neither a number, a word, a list of words, true nor false", name)
		}
	}
	return nil
}

// wordsOf are the words of a list that has nothing else.
func wordsOf(list []any) (words []string, ok bool) {
	for _, v := range list {
		w, ok := v.(string)
		if !ok {
			return nil, false
		}
		words = append(words, w)
	}
	return words, true
}
