package release

import (
	"bytes"
	"fmt"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"ledgerline/pipeline/whole"
	"ledgerline/stages"
)

// A TrackSetting is a number that a track has for a setting of a stage.
type TrackSetting struct {
	Track, Stage, Key string
	Value             float64
}

// Table is the table of a release file that has the setting, in lines that end so.
func (s TrackSetting) Table(end string) string {
	return "[" + dotted("track", s.Track) + "]" + end + s.line() + end
}

func (s TrackSetting) line() string { return dotted(s.Stage, s.Key) + " = " + s.value() }

// value is the number as TOML has a float.
func (s TrackSetting) value() string {
	text := strconv.FormatFloat(s.Value, 'f', -1, 64)
	if !strings.Contains(text, ".") {
		text += ".0"
	}
	return text
}

func (s TrackSetting) path() []string { return []string{"track", s.Track, s.Stage, s.Key} }

// dotted is names as a dotted key of TOML.
func dotted(names ...string) string {
	keys := make([]string, len(names))
	for i, name := range names {
		if keys[i] = key(name); strings.HasPrefix(keys[i], `"`) {
			keys[i] = tomlString(name)
		}
	}
	return strings.Join(keys, ".")
}

// tomlString is a name as a string of TOML, which does not know all that Go escapes.
func tomlString(name string) string {
	var b strings.Builder
	for _, r := range name {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	return `"` + b.String() + `"`
}

// SetForTracks writes settings into the tables [track."NAME"] of a release file, and leaves every other byte
// as it is. The file is replaced whole. It is left as it is, with an error that says why, unless the new one
// is a release whose chains have these settings and are otherwise those that they were.
func SetForTracks(path string, settings []TrackSetting) error {
	path, err := filepath.EvalSymlinks(path) // what is replaced is the file, not the link
	if err != nil {
		return err
	}
	text, err := read(path)
	if err != nil {
		return err
	}
	edited, mark := bytes.CutPrefix(text, []byte(byteOrderMark))
	for _, s := range settings {
		if edited, err = set(edited, s); err != nil {
			return leftAsItIs(path, err)
		}
	}
	if mark {
		edited = append([]byte(byteOrderMark), edited...)
	}
	if err := sameOtherwise(path, text, edited, settings); err != nil {
		return leftAsItIs(path, err)
	}
	if err := whole.Write(path, edited); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return nil
}

func leftAsItIs(path string, why error) error {
	return fmt.Errorf("%s is left as it is: %w", path, why)
}

// byteOrderMark is what some editors begin a text with. It is no TOML.
const byteOrderMark = "\xef\xbb\xbf"

// set is a text with a setting in it.
func set(text []byte, s TrackSetting) ([]byte, error) {
	for _, name := range s.path() {
		if !utf8.ValidString(name) {
			return nil, fmt.Errorf("%q is not UTF-8, as TOML is", name)
		}
	}
	e := findEntries(text)
	if at, ok := e.value(s.path()); ok {
		return spliced(text, at.from, at.to, s.value()), nil
	}
	if e.braced(s.path()) {
		return nil, fmt.Errorf("[track.%s] has a table in braces without %s, which is not added to", key(s.Track),
			key(s.Key))
	}
	end := "\n"
	if i := bytes.IndexByte(text, '\n'); i > 0 && text[i-1] == '\r' {
		end = "\r\n"
	}
	if place, ok := e.place(s.path()); ok {
		line := lineEnd(text, place.after)
		added := place.indent + dotted(s.path()[place.depth:]...) + " = " + s.value()
		if line == len(text) { // nothing ends the file's last line
			return spliced(text, line, line, end+added), nil
		}
		return spliced(text, line+1, line+1, added+end), nil
	}
	added := s.Table(end)
	switch {
	case len(text) == 0:
	case text[len(text)-1] != '\n':
		added = end + end + added
	default:
		added = end + added
	}
	return spliced(text, len(text), len(text), added), nil
}

func spliced(text []byte, from, to int, by string) []byte {
	return append(append(append(make([]byte, 0, len(text)+len(by)), text[:from]...), by...), text[to:]...)
}

// lineEnd is where the line break is after an offset, or the text's end.
func lineEnd(text []byte, from int) int {
	if i := bytes.IndexByte(text[from:], '\n'); i >= 0 {
		return from + i
	}
	return len(text)
}

// sameOtherwise fails unless a new text of a release file is one that has the settings and else means what it
// meant.
func sameOtherwise(path string, before, after []byte, settings []TrackSetting) error {
	was, err := understood(path, before)
	if err != nil {
		return err
	}
	is, err := understood(path, after)
	if err != nil {
		return err
	}
	for i := range is.Renders {
		is := &is.Renders[i]
		if is.Variant != "" {
			continue
		}
		for _, s := range settings {
			if is.Track == s.Track && !has(is.Chain, s) {
				return fmt.Errorf("%s of %q would not become %s", dotted(s.Stage, s.Key), s.Track, s.value())
			}
		}
	}
	for _, s := range settings {
		was.forget(s)
		is.forget(s)
	}
	was.Hash, is.Hash, was.Notes, is.Notes = "", "", nil, nil
	if !reflect.DeepEqual(was, is) {
		return fmt.Errorf("something else would change with it")
	}
	return nil
}

func has(chain []stages.Use, s TrackSetting) bool {
	for _, use := range chain {
		if use.Name == s.Stage {
			return use.Settings[s.Key] == s.Value
		}
	}
	return false
}

// forget takes a setting out of all renders of a track, and out of what deliveries continue.
func (r *Release) forget(s TrackSetting) {
	for i := range r.Renders {
		x := &r.Renders[i]
		if x.Track != s.Track {
			continue
		}
		x.Chain = without(x.Chain, s)
		if x.Main != nil {
			main := *x.Main
			main.Chain = without(main.Chain, s)
			x.Main = &main
		}
	}
}

// without is a chain without a setting. The chain stays: tracks share it.
func without(chain []stages.Use, s TrackSetting) []stages.Use {
	chain = slices.Clone(chain)
	for k := range chain {
		if use := &chain[k]; use.Name == s.Stage {
			use.Settings = maps.Clone(use.Settings)
			delete(use.Settings, s.Key)
		}
	}
	return chain
}
