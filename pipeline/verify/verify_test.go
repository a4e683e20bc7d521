package verify

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/ledger"
)

// put writes a file, and is its hash.
func put(t *testing.T, folder, name, text string) string {
	t.Helper()
	path := filepath.Join(folder, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}

func TestFiles(t *testing.T) {
	folder := t.TempDir()
	masters := filepath.Join(folder, "masters")
	l := ledger.New("test", "Night Ferry", 0, "")
	l.Tracks = []ledger.Track{
		{
			Name: "01 quay", Source: ledger.Source{
				File: "mixes/01 quay.wav", SHA256: put(t, folder, "mixes/01 quay.wav", "a mix"),
			},
			Output: ledger.Output{File: "01 quay.wav", SHA256: put(t, masters, "01 quay.wav", "a master")},
			Removed: &ledger.Extra{
				File: "removed/01 quay.wav", SHA256: put(t, masters, "removed/01 quay.wav", "removed"),
			},
		},
		{
			Name: "01 quay", Delivery: "disc", Source: ledger.Source{
				File: "mixes/01 quay.wav", SHA256: put(t, folder, "mixes/01 quay.wav", "a mix"),
			},
			Output: ledger.Output{File: "disc/01 quay.wav", SHA256: put(t, masters, "disc/01 quay.wav", "a disc")},
		},
	}
	put(t, masters, "disc/"+ledger.SumsName, l.Sums("disc"))
	put(t, masters, "disc/"+ledger.SheetName, l.Paper(ledger.SheetName, "disc"))
	l.Papers = []string{"disc/" + ledger.SumsName, "disc/" + ledger.SheetName, "low/" + ledger.SheetName}
	put(t, masters, "notes.txt", "no audio")
	want := []File{
		{"01 quay.wav", "master", Present, "", nil},
		{"disc/01 quay.wav", "delivery", Present, "", nil},
		{"disc/SHA256SUMS", "sums", Present, "", nil},
		{"disc/sheet.txt", "sheet", Present, "", nil},
		{"mixes/01 quay.wav", "mix", Present, "", nil},
		{"removed/01 quay.wav", "removed", Present, "", nil},
	}
	check := func(what, release string, want []File) {
		t.Helper()
		got, err := Files(t.Context(), masters, l, release)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", what, diff)
		}
	}
	check("as recorded", folder, want)
	check("without the release file", "", append(append([]File{}, want[:4]...), want[5]))

	// One byte of the same length and time; a file that is gone; one too many; sums that say something else.
	path := filepath.Join(masters, "01 quay.wav")
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	put(t, masters, "01 quay.wav", "A master")
	if err := os.Chtimes(path, info.ModTime(), info.ModTime()); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(masters, "removed", "01 quay.wav")); err != nil {
		t.Fatal(err)
	}
	put(t, masters, "disc/02 other.wav", "somebody else's")
	put(t, masters, "disc/"+ledger.SumsName, l.Sums("disc")+" ")
	if err := os.Remove(filepath.Join(masters, "disc", ledger.SheetName)); err != nil {
		t.Fatal(err)
	}
	check("not as recorded", folder, []File{
		{"01 quay.wav", "master", Altered, "", nil},
		{"disc/01 quay.wav", "delivery", Present, "", nil},
		{"disc/02 other.wav", "", Foreign, "", nil},
		{"disc/SHA256SUMS", "sums", Altered, "", nil},
		{"disc/sheet.txt", "sheet", Missing, "", nil},
		{"mixes/01 quay.wav", "mix", Present, "", nil},
		{"removed/01 quay.wav", "removed", Missing, "", nil},
	})
}

// What is no file is told of, and never read: a pipe would not end.
func TestAFolderWhereAFileBelongs(t *testing.T) {
	masters := t.TempDir()
	l := ledger.New("test", "Night Ferry", 0, "")
	l.Tracks = []ledger.Track{{
		Name: "01 quay", Delivery: "disc", Output: ledger.Output{File: "disc/01 quay.wav"}, Along: "a line",
	}}
	l.Papers = []string{"disc/" + ledger.SumsName, "disc/" + ledger.SheetName}
	for _, name := range []string{"disc/01 quay.wav", l.Papers[0], l.Papers[1], "ledger.along.jsonl"} {
		if err := os.MkdirAll(filepath.Join(masters, name), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	const why = "it is a folder, and a file belongs there"
	got, err := Files(t.Context(), masters, l, "")
	if diff := cmp.Diff([]File{
		{"disc/01 quay.wav", "delivery", Altered, why, nil},
		{"disc/SHA256SUMS", "sums", Altered, why, nil},
		{"disc/sheet.txt", "sheet", Altered, why, nil},
		{"ledger.along.jsonl", "along", Altered, why, nil},
	}, got); diff != "" || err != nil {
		t.Errorf("%v (-want +got):\n%s", err, diff)
	}
}

// A text in the place of a paper is the release's own where the state file says so; without one, where the
// ledger names it, or is of a version that names none.
func TestAPaperThatTheReleaseDidNotWrite(t *testing.T) {
	const replace = "; move it away, or replace it with ledgerline render --replace"
	for _, c := range []struct {
		what, state string
		papers      []string
		want        State
		why         string
	}{
		{"written before", `{"schema": 2, "files": {}, "made": {"disc/sheet.txt": []}}`, []string{"disc/sheet.txt"},
			Altered, ""},
		{"never written", `{"schema": 2, "files": {}, "made": {}}`, []string{"disc/sheet.txt"}, Foreign,
			"this release did not write it" + replace},
		{"not asked for", `{"schema": 2, "files": {}, "made": {}}`, nil, Foreign, "this release did not write it"},
		{"an early state file", `{"schema": 1, "files": {}}`, []string{"disc/sheet.txt"}, Altered, ""},
		{"without a state file", "", []string{"disc/sheet.txt"}, Altered, ""},
		{"others are named", "", []string{"disc/sheet.csv"}, Foreign, "this release did not write it"},
		{"none is named", "", nil, Altered, ""},
	} {
		masters := t.TempDir()
		l := ledger.New("test", "Night Ferry", 0, "")
		l.Papers = c.papers
		l.Tracks = []ledger.Track{{Name: "01 quay", Delivery: "disc", Output: ledger.Output{
			File: "disc/01 quay.wav", SHA256: put(t, masters, "disc/01 quay.wav", "a disc"),
		}}}
		put(t, masters, "disc/sheet.csv", l.Paper("sheet.csv", "disc"))
		put(t, masters, "disc/sheet.txt", "somebody else's")
		if c.state != "" {
			put(t, masters, ".ledgerline-state.json", c.state)
		}
		got, err := Files(t.Context(), masters, l, "")
		if diff := cmp.Diff([]File{
			{"disc/01 quay.wav", "delivery", Present, "", nil},
			{"disc/sheet.csv", "sheet", Present, "", nil},
			{"disc/sheet.txt", "sheet", c.want, c.why, nil},
		}, got); diff != "" || err != nil {
			t.Errorf("%s: %v (-want +got):\n%s", c.what, err, diff)
		}
	}
}
