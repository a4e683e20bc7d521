package fresh

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages/stagetest/long"
)

// fill gives every field that a JSON text has a value of its own.
func fill(v reflect.Value, n *int) {
	*n++
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), n)
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() && f.Tag.Get("json") != "-" {
				fill(v.Field(i), n)
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fill(v.Index(0), n)
		fill(v.Index(1), n)
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		x := reflect.New(v.Type().Elem()).Elem()
		fill(x, n)
		v.SetMapIndex(reflect.ValueOf("bs1770").Convert(v.Type().Key()), x)
		v.SetMapIndex(reflect.ValueOf("none").Convert(v.Type().Key()), reflect.Zero(v.Type().Elem()))
	case reflect.String:
		v.SetString(fmt.Sprintf("a \"%d\" \\ é\u2028<\n/", *n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64:
		v.SetFloat(-float64(*n) / 7e9)
	default:
		v.SetInt(int64(*n))
	}
}

// An entry with every field that it may have is read as it was written, and as encoding/json reads it. A
// new field that pull does not know fails here.
func TestEntriesInBriefAreReadAsTheyAreWritten(t *testing.T) {
	var full briefEntry
	n := 0
	fill(reflect.ValueOf(&full).Elem(), &n)
	for name, want := range map[string]briefEntry{"full": full, "empty": {}} {
		head := briefHead{Form: briefForm, Ledger: "l", Along: "a", Entries: 2, Head: ledger.Ledger{Title: "x"}}
		b := &brief{head: head, entries: []briefEntry{want, want}}
		folder := t.TempDir()
		b.write(folder)
		got := readBrief(folder)
		if got == nil {
			t.Fatalf("%s: cannot be read", name)
		}
		if diff := cmp.Diff(b, got, cmp.AllowUnexported(brief{}), cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s: written (-), read (+):\n%s", name, diff)
		}
		text, err := json.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		var byJSON, pulled briefEntry
		if err := json.Unmarshal(text, &byJSON); err != nil {
			t.Fatal(err)
		}
		p := &puller{text: text}
		if pulled.pull(p); !p.ended() {
			t.Fatalf("%s: cannot be taken apart", name)
		}
		if diff := cmp.Diff(byJSON, pulled, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s: by encoding/json (-), pulled (+):\n%s", name, diff)
		}
	}
}

// A text that somebody has damaged is refused, or read as encoding/json reads it if that does. (Not all
// that is no JSON is refused.)
func TestDamagedTextIsRefusedOrReadAsJSON(t *testing.T) {
	state := func(text []byte) (any, bool) { st, ok := parseState(text); return st, ok }
	byJSON := func(text []byte) (any, bool) {
		st := struct {
			Schema int                 `json:"schema"`
			Files  map[string]Sight    `json:"files"`
			Made   map[string][]string `json:"made"`
		}{}
		err := json.Unmarshal(text, &st)
		return struct {
			Schema int
			Files  map[string]Sight
			Made   map[string][]string
		}(st), err == nil
	}
	whole := []byte(`{
 "schema": 2,
 "files": {"a \"b\".wav": {"size": 12, "modified_ns": 1764400000123456789, "changed_ns": -5, "inode": 18446744073709551615, "sha256": "00ff"}, "é\n": {"size": 0, "modified_ns": 0, "sha256": ""}},
 "made": {"a.wav": ["00", "11"], "b.wav": [], "c.wav": null},
 "later": [{"x": [1.5e3, true, false, null, "\u00e9"]}, {}]
}
`)
	compare := func(text []byte) {
		t.Helper()
		got, ok := state(text)
		want, valid := byJSON(text)
		if !ok || !valid {
			return
		}
		if diff := cmp.Diff(fmt.Sprintf("%+v", want), fmt.Sprintf("%+v", got)); diff != "" {
			t.Fatalf("%q: by encoding/json (-), pulled (+):\n%s", text, diff)
		}
	}
	if _, ok := state(whole); !ok {
		t.Fatal("what is whole is refused")
	}
	compare(whole)
	for n := range whole {
		compare(whole[:n])
	}
	random := rand.New(rand.NewPCG(1, 2))
	for range long.Or(6000, 20000) {
		text := bytes.Clone(whole)
		text[random.IntN(len(text))] = `{}[]",:\0129.e+-tfn x`[random.IntN(21)]
		compare(text)
	}
	for _, text := range []string{
		"", "null", "{}", "{}x", `{"schema":2,}`, `{"schema":02}`, `{"schema":2 "files":{}}`,
		strings.Repeat("[", 100000),
	} {
		compare([]byte(text))
	}
}
