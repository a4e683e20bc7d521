package ledger

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestEncodeGolden(t *testing.T) {
	l := ferry()
	l.Title = "Night Ferry <live> & \"home\""
	l.Tracks = append(l.Tracks[:1], silence())
	l.Sum()
	var text bytes.Buffer
	if err := l.Encode(&text); err != nil {
		t.Fatal(err)
	}
	golden(t, "ledger.json", text.Bytes())
}

func TestWriteRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.json")
	want := ferry()
	want.Tracks = append(want.Tracks, silence())
	want.Sum()
	for range 2 { // the second time it replaces itself
		if _, err := Write(path, want); err != nil {
			t.Fatal(err)
		}
	}
	got, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-written +read:\n%s", diff)
	}
	files, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(files) != 1 {
		t.Errorf("files left: %v, %v", files, err)
	}
}

// Where no 3 s had a loudness, earlier versions recorded a range of 0 LU.
func TestARangeThatIsNoneInAnOlderLedger(t *testing.T) {
	was, err := os.ReadFile(filepath.Join("testdata", "ledger.json"))
	if err != nil {
		t.Fatal(err)
	}
	old := strings.Replace(string(was), `"loudness_range_lu": null`, `"loudness_range_lu": 0`, 1)
	if old == string(was) {
		t.Fatal("no range is null")
	}
	l, err := Parse(strings.NewReader(old), "old.json")
	if err != nil {
		t.Fatal(err)
	}
	var now bytes.Buffer
	if err := l.Encode(&now); err != nil {
		t.Fatal(err)
	}
	if now.String() != string(was) {
		t.Error("the older ledger is not read as the new one is")
	}
}

func TestWriteKeepsTheOldOneWhole(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "ledger.json")
	if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Write(path, ferry()); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("permissions %v, %v", info.Mode(), err)
	}
	_, err := Write(filepath.Join(folder, "nowhere", "ledger.json"), ferry())
	if err == nil || !strings.Contains(err.Error(), "nowhere") || !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("writing into a folder that is not there: %v", err)
	}
}

func TestReadMissing(t *testing.T) {
	if _, err := Read(filepath.Join(t.TempDir(), "none.json")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("got %v", err)
	}
}

func TestParseErrors(t *testing.T) {
	track := func(chain, stages, boundaries string) string {
		return `{"schema":1,"tracks":[{"name":"01 lantern quay","chain":[` + chain + `],"stages":[` + stages +
			`],"boundaries":[` + boundaries + `]}]}`
	}
	for _, tt := range []struct{ name, text, want string }{
		{"empty", "", "old.json: not a ledger: the file is empty"},
		{
			"cut off", "{\n  \"schema\": 1,\n  \"tra",
			"old.json:3:6: not a ledger, which is JSON: unexpected end of JSON input",
		},
		{
			"a release file", "title = \"Night Ferry\"\n",
			"old.json:1:2: not a ledger, which is JSON: invalid character 'i' in literal true (expecting 'r')",
		},
		{
			"a comma too many", "{\n  \"schema\": 1,\n}\n",
			"old.json:3:1: not a ledger, which is JSON: invalid character '}' looking for beginning of object " +
				"key string",
		},
		{
			"two of them", "{\"schema\":1}\n{}",
			"old.json:2:1: not a ledger, which is JSON: invalid character '{' after top-level value",
		},
		{"a list", "[1]", "old.json:1:1: not a ledger: it is an array, want an object"},
		{"null", "null", `old.json: not a ledger: want a "schema" of 1 or more`},
		{"another object", `{"name": "x"}`, `old.json: not a ledger: want a "schema" of 1 or more`},
		{"schema below 1", `{"schema": -3}`, `old.json: not a ledger: want a "schema" of 1 or more`},
		{"newer", `{"schema": 3, "tool": "ledgerline 3.0.0", "tracks": {"a": 1}}`,
			`old.json: a ledger of schema 3, written by "ledgerline 3.0.0"; this version reads schema 2 and older: ` +
				`use the version that wrote it, or a later one`},
		{
			"newer, nameless", `{"schema": 20}`,
			`old.json: a ledger of schema 20; this version reads schema 2 and older: use the version that wrote it, ` +
				`or a later one`,
		},
		{
			"wrong type", "{\"schema\": 1,\n\"tracks\": [{\"name\": 5}]}",
			`old.json:2:21: not a ledger: "tracks.name" cannot be a number`,
		},
		{
			"number out of range", `{"schema": 1, "ceiling_dbfs": 1e999}`,
			`old.json:1:35: not a ledger: "ceiling_dbfs" cannot be a number 1e999`,
		},
		{"nameless", `{"schema":1,"tracks":[{}]}`, `old.json: track "": it has no name`},
		{"twice",
			`{"schema":1,"tracks":[{"name":"a","variant":"b","boundaries":[{}]},{"name":"a","variant":"b","boundaries":[{}]}]}`,
			`old.json: track "a (b)" is in it twice`},
		{
			"no boundary", track("", "", ""),
			`old.json: track "01 lantern quay": 0 boundaries, want one more than stages, 1`,
		},
		{
			"a stage too few", track(`{"name":"a"}`, "", "{}"),
			`old.json: track "01 lantern quay": 0 stages, want as many as in its chain, 1`,
		},
		{"nameless stage", track(`{}`, "{}", "{},{}"), `old.json: track "01 lantern quay": stage 1 has no name`},
		{"two of one name", track(`{"name":"a"},{"name":"a"}`, `{"stage":"a"},{"stage":"a"}`,
			`{},{"stage":"a"},{"stage":"a"}`),
			`old.json: track "01 lantern quay": two of its stages are named "a"`},
		{"other names", track(`{"name":"a"}`, `{"stage":"b"}`, `{},{"stage":"a"}`),
			`old.json: track "01 lantern quay": stage 1 is "a" in the chain, but "b" in the stages and "a" in ` +
				`the boundaries`},
		{"a setting that is a list", track(`{"name":"a","settings":{"gain_db":[1]}}`, `{"stage":"a"}`,
			`{},{"stage":"a"}`),
			`old.json: track "01 lantern quay": stage "a": setting "gain_db" is a list of more than words`},
		{"a requirement of no stage",
			`{"schema":1,"tracks":[{"name":"a","boundaries":[{}],"requirements":[{"stage":"delivery","key":"overs_max"}]}]}`,
			`old.json: track "a": requirement "overs_max" belongs to stage "delivery", which is not in its chain`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Parse(strings.NewReader(tt.text), "old.json")
			if err == nil || err.Error() != tt.want {
				t.Errorf("got  %v\nwant %s", err, tt.want)
			}
		})
	}
}

func TestParseReadFails(t *testing.T) {
	folder := t.TempDir()
	if _, err := Read(folder); err == nil || !strings.Contains(err.Error(), folder) {
		t.Errorf("reading a folder: %v", err)
	}
}

// What is read can be printed, compared and written, whatever it says; and what
// was written is read as the same.
func FuzzParse(f *testing.F) {
	var text bytes.Buffer
	if err := ferry().Encode(&text); err != nil {
		f.Fatal(err)
	}
	f.Add(text.Bytes())
	for _, seed := range []string{
		"", "{", "null", "[]", `{"schema":1}`, `{"schema":2}`, `{"schema":1e9}`,
		`{"schema":1,"tracks":[{"name":"\u001b[2J","boundaries":[{}]}]}`,
		`{"schema":1,"tracks":[{"name":"a","source":{"duration_s":1e308},"boundaries":[{"sample_peak_dbfs":1e308,"overs":-9}],"requirements":[{"key":"x","found":null}]}]}`,
		`{"schema":1,"tracks":[{"name":"a","chain":[{"name":"source","kind":"dither","settings":{"bits":1e300,"seed":0.5}}],"stages":[{"stage":"source"}],"boundaries":[{},{"stage":"source"}]}]}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		l, err := Parse(bytes.NewReader(text), "fuzz")
		if err != nil {
			return
		}
		c := Compare(l, l, 0)
		if !c.Same() {
			t.Errorf("a ledger differs from itself: %+v", c)
		}
		other := Compare(l, ferry(), 0.01)
		for _, colour := range []bool{false, true} {
			printed(t, colour, func(p Printer) error {
				return errors.Join(p.ledger(l), p.Comparison(&other), other.Markdown(p.Out))
			})
		}
		var once, twice bytes.Buffer
		if err := l.Encode(&once); err != nil {
			t.Fatal(err)
		}
		again, err := Parse(bytes.NewReader(once.Bytes()), "again")
		if err != nil {
			t.Fatalf("reading what was written: %v", err)
		}
		if err := again.Encode(&twice); err != nil || !bytes.Equal(once.Bytes(), twice.Bytes()) {
			t.Errorf("written twice: %v\n%s\n%s", err, once.Bytes(), twice.Bytes())
		}
	})
}
