package stages_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"ledgerline/stages"
)

// units are the endings of keys and the units that they stand for.
var units = map[string]string{
	"_db": "dB", "_dbfs": "dBFS", "_dbtp": "dBTP", "_lufs": "LUFS", "_lu": "LU", "_ms": "ms", "_hz": "Hz",
}

func TestKindsAreNamedAndDocumented(t *testing.T) {
	want := []string{
		"gain", "hard_clip", "oversampled_clip", "masked_clip", "ceiling_hold", "resample", "dither", "measure",
	}
	var got []string
	for _, k := range stages.Kinds() {
		got = append(got, k.Name)
		sentence(t, k.Name, k.Doc)
		if found, ok := stages.KindNamed(k.Name); !ok || found.Name != k.Name {
			t.Errorf("KindNamed does not know %q", k.Name)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("kinds %q, want %q", got, want)
	}
	if _, ok := stages.KindNamed("gian"); ok {
		t.Error("KindNamed knows gian")
	}
	if _, err := stages.Build("gian", mono, nil); err == nil || !strings.Contains(err.Error(), `"gian"`) {
		t.Errorf("Build of gian: %v", err)
	}
}

// everyKey calls f for every key of every kind.
func everyKey(f func(name string, kind stages.Kind, key stages.Key)) {
	for _, kind := range stages.Kinds() {
		for _, key := range kind.Keys {
			f(kind.Name+"."+key.Name, kind, key)
		}
	}
}

func sentence(t *testing.T, name, doc string) {
	t.Helper()
	if len(doc) < 5 || doc[:1] != strings.ToUpper(doc[:1]) || !strings.HasSuffix(doc, ".") {
		t.Errorf("%s: %q is no sentence", name, doc)
	}
}

func TestKeysAreNamedAndDocumented(t *testing.T) {
	everyKey(func(name string, kind stages.Kind, key stages.Key) {
		sentence(t, name, key.Doc)
		same := 0
		for _, other := range kind.Keys {
			if other.Name == key.Name {
				same++
			}
		}
		if found, ok := kind.Key(key.Name); same != 1 || !ok || found.Name != key.Name {
			t.Errorf("%s is there %d times, found: %v", name, same, ok)
		}
		if key.Name != strings.ToLower(key.Name) ||
			strings.Trim(key.Name, "abcdefghijklmnopqrstuvwxyz0123456789_") != "" {
			t.Errorf("%s: a key is made of small letters, digits and _", name)
		}
	})
}

// The unit of a key is at its end, and no other key has that unit.
func TestKeysTellTheirUnit(t *testing.T) {
	everyKey(func(name string, _ stages.Kind, key stages.Key) {
		ending, want := "", ""
		for e, unit := range units {
			if strings.HasSuffix(key.Name, e) {
				ending, want = e, unit
			}
		}
		if want != "" && key.Unit != want {
			t.Errorf("%s has the unit %q, want %q", name, key.Unit, want)
		}
		for e, unit := range units {
			if key.Unit == unit && e != ending {
				t.Errorf("%s has the unit %q and should end with %q", name, unit, e)
			}
		}
		if share := key.Min == 0 && key.Max == 1; key.Type == stages.Number && key.Unit == "" && !share {
			t.Errorf("%s is a number without a unit, and no share", name)
		}
	})
}

func TestKeysHaveARange(t *testing.T) {
	everyKey(func(name string, _ stages.Kind, key stages.Key) {
		switch key.Type {
		case stages.Number:
			if !(key.Min < key.Max) || math.IsInf(key.Max-key.Min, 0) || key.Choices != nil || key.Words != nil {
				t.Errorf("%s reaches from %v to %v, choices %v, words %v", name, key.Min, key.Max, key.Choices, key.Words)
			}
		case stages.Integer:
			whole := key.Min == math.Trunc(key.Min) && key.Max == math.Trunc(key.Max) &&
				math.Max(-key.Min, key.Max) <= 1<<53
			if (len(key.Choices) > 0) == (key.Min < key.Max) || !whole || key.Words != nil {
				t.Errorf("%s wants either choices (%v) or a range (%v to %v)", name, key.Choices, key.Min, key.Max)
			}
			if !slices.IsSorted(key.Choices) || len(slices.Compact(slices.Clone(key.Choices))) != len(key.Choices) {
				t.Errorf("%s: choices %v are not in order", name, key.Choices)
			}
		case stages.Word, stages.List:
			if len(key.Words) < 2 || key.Choices != nil || key.Min != 0 || key.Max != 0 || key.Unit != "" {
				t.Errorf("%s: %+v", name, key)
			}
		case stages.Truth:
			if key.Words != nil || key.Choices != nil || key.Min != 0 || key.Max != 0 || key.Unit != "" {
				t.Errorf("%s: %+v", name, key)
			}
		default:
			t.Errorf("%s has the type %v", name, key.Type)
		}
		if strings.HasSuffix(key.Name, "ceiling_dbfs") && (key.Min != -60 || key.Max != 0) {
			t.Errorf("%s reaches from %v to %v dBFS, want -60 to 0", name, key.Min, key.Max)
		}
	})
}

// allowed says whether v may be the value of that key.
func allowed(key stages.Key, v any) bool {
	switch v := v.(type) {
	case float64:
		return key.Type == stages.Number && v >= key.Min && v <= key.Max
	case int64:
		return key.Type == stages.Integer && (slices.Contains(key.Choices, v) ||
			key.Choices == nil && float64(v) >= key.Min && float64(v) <= key.Max)
	case string:
		return key.Type == stages.Word && slices.Contains(key.Words, v)
	case bool:
		return key.Type == stages.Truth
	case stages.WordList:
		given := func(w string) bool { return v.Has(w) }
		known := slices.DeleteFunc(slices.Clone(key.Words), func(w string) bool { return !given(w) })
		return key.Type == stages.List && v != "" && v == stages.NewWordList(known)
	}
	return false
}

func TestKeysHaveAnAllowedDefault(t *testing.T) {
	everyKey(func(name string, kind stages.Kind, key stages.Key) {
		if key.Required && key.Default != nil {
			t.Errorf("%s is required and has the default %v", name, key.Default)
		}
		if key.Default != nil && !allowed(key, key.Default) {
			t.Errorf("%s: the default %v (%T) is not allowed", name, key.Default, key.Default)
		}
		filled := stages.Settings{}
		kind.Fill(filled)
		if filled[key.Name] != key.Default {
			t.Errorf("%s: Fill gives %v, want %v", name, filled[key.Name], key.Default)
		}
		given := stages.Settings{key.Name: "given"}
		kind.Fill(given)
		if given[key.Name] != "given" {
			t.Errorf("%s: Fill replaced what was given", name)
		}
	})
}

// ends are the values at both ends of what a key allows.
func ends(key stages.Key) []any {
	switch {
	case key.Type == stages.Number:
		return []any{key.Min, key.Max}
	case key.Type == stages.Word:
		return []any{key.Words[0], key.Words[len(key.Words)-1]}
	case key.Type == stages.Truth:
		return []any{false, true}
	case key.Type == stages.List:
		return []any{stages.NewWordList(key.Words[:1]), stages.NewWordList(key.Words)}
	case key.Choices != nil:
		return []any{key.Choices[0], key.Choices[len(key.Choices)-1]}
	}
	return []any{int64(key.Min), int64(key.Max)}
}

// Whatever a kind allows, it makes a stage of it or says why not.
func TestKindsTakeWhatTheyAllow(t *testing.T) {
	for _, kind := range stages.Kinds() {
		for combination := range 1 << len(kind.Keys) {
			s := stages.Settings{}
			for i, key := range kind.Keys {
				s[key.Name] = ends(key)[combination>>i&1]
			}
			if stage, err := stages.Build(kind.Name, mono, s); (stage == nil) == (err == nil) {
				t.Errorf("%s %v: stage %v and error %v", kind.Name, s, stage, err)
			}
		}
	}
}

func TestCeilingOfSettings(t *testing.T) {
	if c, ok := (stages.Settings{"ceiling_dbfs": -20.0}).Ceiling(); !ok || math.Abs(c-0.1) > 1e-16 {
		t.Errorf("ceiling %v, %v", c, ok)
	}
	if _, ok := (stages.Settings{}).Ceiling(); ok {
		t.Error("a ceiling where none is set")
	}
	// 0 dBFS must not lie a bit off full scale.
	if c, _ := (stages.Settings{"ceiling_dbfs": 0.0}).Ceiling(); c != 1 {
		t.Errorf("0 dBFS is %v", c)
	}
}
