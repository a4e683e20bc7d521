package stages

import "fmt"

// Type says how a setting is written in a release file.
type Type int

const (
	Number  Type = iota // a TOML float or integer, float64 in Settings
	Integer             // a TOML integer, int64 in Settings
	Word                // a TOML string out of Key.Words, string in Settings
	Truth               // true or false in TOML, bool in Settings
	List                // a TOML list of strings out of Key.Words, WordList in Settings
)

// A Key is one setting of a kind of stage.
type Key struct {
	Name     string
	Type     Type
	Min, Max float64  // the range of a Number or Integer, both ends allowed
	Choices  []int64  // an Integer's allowed values, where they are not a whole range
	Words    []string // the allowed values of a Word, and of each word in a List
	Required bool
	// float64, int64, string, bool or WordList; nil where the key is required, or may be left out and then says
	// nothing
	Default any
	Unit    string // as printed in the reference: "dB", "dBFS", ...
	Doc     string // one sentence
}

// Settings are a stage's settings by key: float64, int64, string, bool or WordList as the
// key's Type says. Build takes settings with every default filled in; a key
// without a default may be missing.
type Settings map[string]any

// A Kind is one sort of stage. It says of itself all that others must know to reckon
// with it: nobody else knows the kinds by their names. All functions take settings as
// Build does.
type Kind struct {
	Name string
	Doc  string // one sentence
	Keys []Key
	// Fault says what of the settings cannot be had together, whatever the format; empty: nothing. Nil: nothing
	// ever.
	Fault func(Settings) string
	// AtRate fails where the settings cannot be had at the rate, in Hz, of what the stage is fed; nil: they can
	// at any.
	AtRate func(rate int, s Settings) error
	// New makes the stage; an error says what of its settings cannot be had together, or
	// at that format. Nil where Mono makes it.
	New func(Format, Settings) (Stage, error)
	// Mono makes the stage for one channel, of a kind that hands on each frame at once.
	Mono func(Format, Settings) (Mono, error)

	Reads   bool // it passes on what it gets, and only requires something of the reading there
	Cuts    bool // it takes something from the programme itself: the ledger tells what, and where
	MayPass bool // what it hands on may pass its own ceiling
	Apart   bool // it takes long, and no channel knows of the others: each may be worked on at once
	Hears   bool // what it does depends on the playback level
	// LeastRateHz and MostRateHz are between which rates it works; 0: at any.
	LeastRateHz, MostRateHz int
	// FarPercent is the share of the samples over its ceiling, in percent, beyond which the stage gains little;
	// 0: there is none.
	FarPercent float64
	// Rate is the rate in Hz of what it hands on, 8000 to 384000; nil: that of what it gets.
	Rate func(Settings) int
	// Multiplies is the factor by which it multiplies the programme, and does nothing else; nil: it
	// is no such kind. What the chain removed is counted from the mix times the factors.
	Multiplies func(Settings) Factor
	// Rounds is how it rounds to words; nil: it does not.
	Rounds func(Settings) Rounding
	// Promises is the peak that keeps the ceiling after the stage, as it promises; nil: it promises
	// nothing.
	Promises func(Settings) Promise
	// Unheard are keys that have no effect with some settings.
	Unheard []Unheard
	// Remarks is what is legal but odd about the stage at k in its chain; nil: nothing is.
	Remarks func(chain []Use, k int) []Remark
	// Clean is a stage that does the same without aliasing, with the same settings; nil: nobody asks for it.
	Clean func(Use) Use
	// Like says how what the stage hands on is like what it gets; nil = it need not be like it.
	Like func(Settings) Likeness
}

// Likeness says that a stage hands on each frame at once, and each sample x as g(x + e), rounded, with a
// constant g and no |e| greater than Within. It holds until a sample that comes in passes Until.
type Likeness struct {
	Within float64 // linear magnitude; 0 = the samples are x times g
	Until  float64 // linear magnitude; infinite = it holds for any samples
}

// Unheard is a key that has no effect with some settings, which check tells.
type Unheard struct {
	Key  string
	When func(Settings) bool // as written, without the defaults
	Why  string              // the end of "KEY = VALUE has no effect: "
}

// A Factor is what a stage multiplies by.
type Factor struct {
	By float64 // negative where it turns the polarity
	DB float64 // the level of it, as it is set
}

// A Rounding is how a stage rounds to words.
type Rounding struct {
	Bits  int
	Codes float64 // the most that a sample may be lifted by, in codes
	Rise  Rise    // what that is relative to full scale
}

// A Promise is of which peaks a stage promises that they keep its ceiling, as far as the end of
// the chain or the next stage that may raise them on purpose.
type Promise int

const (
	NoPromise Promise = iota
	SamplePeaks
	TruePeaks
)

// Kinds are all the kinds, in the order in which they are documented. They are not to be changed.
func Kinds() []Kind { return kinds }

var kinds []Kind

// Not in a variable's initialiser, because kinds look at the kinds of the stages around them.
func init() {
	kinds = []Kind{
		gainKind, hardClipKind, oversampledClipKind, maskedClipKind, ceilingHoldKind, resampleKind, ditherKind,
		measureKind,
	}
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

// ReadBy are the meters that the stage's promise is read by, empty where it says nothing of them.
func (s Settings) ReadBy() WordList {
	l, _ := s["read_by"].(WordList)
	return l
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
	return k.make(f, s)
}

func (k Kind) make(f Format, s Settings) (Stage, error) {
	if k.AtRate != nil {
		if err := k.AtRate(f.Rate, s); err != nil {
			return nil, err
		}
	}
	if k.Mono == nil {
		return k.New(f, s)
	}
	m := &monos{}
	for range f.Channels {
		one, err := k.Mono(f, s)
		if err != nil {
			return nil, err
		}
		m.each = append(m.each, one)
	}
	return m, nil
}

// ceilingKey is the setting all clipping kinds share.
var ceilingKey = Key{
	Name: "ceiling_dbfs", Type: Number, Min: -60, Max: 0, Required: true, Unit: "dBFS",
	Doc: "The level samples shall not pass.",
}
