package ledger

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A ledger that is written entry by entry has the bytes that encoding/json makes of the whole.
func TestEntryByEntryTheTextIsTheSame(t *testing.T) {
	odd := ferry()
	odd.Title = "\n  \"tracks\": [] & <b>\u2028"
	none := ferry()
	none.Tracks = []Track{}
	for name, l := range map[string]*Ledger{
		"ferry": ferry(), "harbour": harbour(), "odd": odd, "none": none, "nothing": {},
	} {
		var whole, parts bytes.Buffer
		if err := EncodeJSON(&whole, l); err != nil {
			t.Fatal(err)
		}
		if err := l.Encode(&parts); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(whole.String(), parts.String()); diff != "" {
			t.Errorf("%s: whole (-), entry by entry (+):\n%s", name, diff)
		}
	}
}

// A file is read as its text is parsed, and refused with the same words.
func TestEntryByEntryTheLedgerIsTheSame(t *testing.T) {
	var text bytes.Buffer
	l := ferry()
	l.Sum()
	if err := l.Encode(&text); err != nil {
		t.Fatal(err)
	}
	good := text.String()
	texts := []string{
		good, "", "null", "[]", "{}", good + good, good + "x", good + " \n", "\ufeff" + good,
		strings.Replace(good, `"schema": 2`, `"schema": 99`, 1),
		strings.Replace(good, `"schema": 2`, `"schema": 0`, 1),
		strings.Replace(good, `"schema": 2`, `"schema": "2"`, 1), strings.Replace(good, `"schema"`, `"SCHEMA"`, 1),
		strings.Replace(good, `"title"`, `"unknown"`, 1), strings.Replace(good, `"tool"`, `"title"`, 1),
		strings.Replace(good, `"tracks": [`, `"tracks": [null, `, 1),
		strings.Replace(good, `"tracks": [`, `"tracks": [{}, `, 1),
		strings.Replace(good, `"tracks": [`, `"tracks": null, "more": [`, 1),
		strings.Replace(good, `"02 `, `"01 `, 1),
		`{"schema": 2, "tracks": null}`, `{"schema": 2, "tracks": []}`,
		`{"schema": 2, "tracks": [], "tracks": []}`, `{"tracks": [], "schema": 2}`,
	}
	for n := 0; n < len(good); n += 997 {
		texts = append(texts, good[:n], good[:n]+"?"+good[n+1:])
	}
	path := filepath.Join(t.TempDir(), "ledger.json")
	for _, text := range texts {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		got, errRead := Read(path)
		want, errParse := Parse(strings.NewReader(text), path)
		if diff := cmp.Diff(fmt.Sprint(errParse), fmt.Sprint(errRead)); diff != "" {
			t.Errorf("%.60q: text (-), file (+):\n%s", text, diff)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%.60q: text (-), file (+):\n%s", text, diff)
		}
	}
}
