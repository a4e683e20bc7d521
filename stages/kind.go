package stages

import "fmt"

// Type says how a setting is written in a release file.
type Type int

const (
	Number  Type = iota // a TOML float or integer, float64 in Settings
	Integer             // a TOML integer, int64 in Settings
	Word                // a TOML string out of Key.Words, string in Settings
)

// A Key is one setting of a kind of stage.
type Key struct {
	Name     string
	Type     Type
	Min, Max float64  // the range of a Number or Integer, both ends allowed
	Choices  []int64  // an Integer's allowed values, where they are not a whole range
	Words    []string // a Word's allowed values
	Required bool
	Default  any    // float64, int64 or string; nil where the key is required, or may be left out and then says nothing
	Unit     string // as printed in the reference: "dB", "dBFS", ...
	Doc      string // one sentence
}

// Settings are a stage's settings by key: float64, int64 or string as the
// key's Type says. Build takes settings with every default filled in; a key
// without a default may be missing.
type Settings map[string]any

// A Kind is one sort of stage.
type Kind struct {
	Name string
	Doc  string // one sentence
	Keys []Key
	// New makes the stage. Its settings are as Build takes them; an error says
	// what of them cannot be had together, or at that format.
	New func(Format, Settings) (Stage, error)
	// Like says how what the stage hands on is like what it gets; nil = it need not be like it.
	Like func(Settings) Likeness
}

// Likeness says that a stage hands on each frame at once, and each sample x as g(x + e), rounded, with a constant g
// and no |e| greater than Within. It holds until a sample that comes in passes Until.
type Likeness struct {
	Within float64 // linear magnitude; 0 = the samples are x times g
	Until  float64 // linear magnitude; infinite = it holds for any samples
}

// Kinds are all the kinds, in the order in which they are documented.
func Kinds() []Kind {
	return []Kind{gainKind, hardClipKind, oversampledClipKind, ceilingHoldKind, ditherKind, measureKind}
}

// KindNamed is the kind of that name.
func KindNamed(name string) (Kind, bool) {
	for _, k := range Kinds() {
		if k.Name == name {
			return k, true
		}
	}
	return Kind{}, false
}

// Key is the key of that name.
func (k Kind) Key(name string) (Key, bool) {
	for _, key := range k.Keys {
		if key.Name == name {
			return key, true
		}
	}
	return Key{}, false
}

// Fill adds the kind's defaults to s where s has no value.
func (k Kind) Fill(s Settings) {
	for _, key := range k.Keys {
		if _, ok := s[key.Name]; !ok && key.Default != nil {
			s[key.Name] = key.Default
		}
	}
}

// Ceiling is the ceiling that a stage of these settings is to hold, as a
// magnitude, and whether there is one.
func (s Settings) Ceiling() (float64, bool) {
	db, ok := s["ceiling_dbfs"].(float64)
	return Linear(db), ok
}

// CeilingDBFS is the same in dBFS, as it is written.
func (s Settings) CeilingDBFS() (float64, bool) {
	db, ok := s["ceiling_dbfs"].(float64)
	return db, ok
}

// Build makes the stage of a kind for one track. The settings have been
// checked against the kind's keys and filled with its defaults.
func Build(kind string, f Format, s Settings) (Stage, error) {
	k, ok := KindNamed(kind)
	if !ok {
		return nil, fmt.Errorf("no kind of stage is named %q", kind)
	}
	return k.New(f, s)
}

// ceilingKey is the setting all clipping kinds share.
var ceilingKey = Key{
	Name: "ceiling_dbfs", Type: Number, Min: -60, Max: 0, Required: true, Unit: "dBFS",
	Doc: "The level samples shall not pass.",
}
