package trial

import (
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"ledgerline/pipeline/ledger"
)

func played(t *testing.T) Result {
	s := begin(t, Request{Kind: ABX, Trials: 2, Sources: []int{0, 2}}, 1)
	for s.Playing() != nil {
		if err := s.Answer(Reply{Trial: s.At(), Choice: "A", ToS: 1.5}); err != nil {
			t.Fatal(err)
		}
	}
	return s.End()
}

func TestARecordIsReadAsItWasWritten(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "a [b] *") // with signs of a pattern
	var want []Result
	for range 2 { // in one second: neither replaces the other
		r := played(t)
		if _, err := Write(folder, &r); err != nil {
			t.Fatal(err)
		}
		want = append(want, r)
	}
	if want[0].File != "01 quay-20260102T030405Z.json" || want[1].File != "01 quay-20260102T030405Z-2.json" {
		t.Errorf("%q, %q", want[0].File, want[1].File)
	}
	for name, text := range map[string]string{"z.json": "{}", "y.json": "{", "notes.txt": "mine"} {
		if err := os.WriteFile(filepath.Join(folder, Folder, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	got, notes := Read(folder)
	slices.SortFunc(got, func(a, b Result) int { return len(a.File) - len(b.File) })
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v\nwant %+v", got, want)
	}
	if len(notes) != 2 || !strings.Contains(notes[0], "y.json") || !strings.Contains(notes[1], "z.json") {
		t.Errorf("%q", notes)
	}
}

// A record names what has changed since: the mix, a master, or a master that is gone.
func TestChanged(t *testing.T) {
	r := Result{Track: "01 quay", Sources: []Source{
		{Name: "mix", Is: Mix, SHA256: "m"}, {Name: "own chain", Is: Master, SHA256: "o"},
		{Name: "plain", Is: Master, Variant: "plain", SHA256: "p"}, {
			Name: "disc", Is: Delivery, Delivery: "disc", SHA256: "d",
		},
	}}
	entry := func(variant, sha string) ledger.Track {
		return ledger.Track{
			Name: "01 quay", Variant: variant, Source: ledger.Source{SHA256: "m"}, Output: ledger.Output{SHA256: sha},
		}
	}
	l := &ledger.Ledger{
		Tracks: []ledger.Track{
			{Name: "00", Output: ledger.Output{SHA256: "x"}}, entry("", "o"), entry("plain", "p"), entry("", "d"),
		},
	}
	l.Tracks[3].Delivery = "disc"
	if c := r.Changed(l); len(c) > 0 {
		t.Errorf("nothing has changed, but %q", c)
	}
	l.Tracks[2].Output.SHA256 = "q"
	if c := r.Changed(l); !slices.Equal(c, []string{"plain"}) {
		t.Errorf("%q", c)
	}
	l.Tracks = l.Tracks[:2]
	l.Tracks[1].Source.SHA256 = "n"
	if c := r.Changed(l); !slices.Equal(c, []string{"mix", "plain", "disc"}) {
		t.Errorf("%q", c)
	}
	if c := r.Changed(&ledger.Ledger{Tracks: l.Tracks[:1]}); len(c) > 0 {
		t.Errorf("a ledger of another track: %q", c)
	}
}

func TestWords(t *testing.T) {
	g, off := -0.8, 0.1
	for _, c := range []struct {
		kind Kind
		o    Outcome
		want string
	}{
		{
			ABX, Outcome{First: "a", Second: "b", Count: 12, Of: 16, P: 0.0384064, Found: true},
			"a / b: 12 of 16 right, p = 0.0384, told apart",
		},
		{
			ABX, Outcome{First: "a", Second: "b", Count: 8, Of: 16, P: 0.6},
			"a / b: 8 of 16 right, p = 0.6000, not told apart",
		},
		{
			Preference, Outcome{First: "a", Second: "b", Count: 1, Of: 16, PAll: 0.001, Found: true},
			"a / b: 1 to 15, p = 0.0010, b preferred",
		},
		{
			Grades, Outcome{First: "a", Second: "b", Grade: &g, GradeOff: &off, PAll: 0.5},
			"a against b: difference grade -0.80 ± 0.10, p = 0.5000, not told from the reference",
		},
	} {
		if got := c.o.Words(c.kind); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
