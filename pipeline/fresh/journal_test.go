package fresh

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// What is written is read, with the settings' types; what follows a torn or a
// broken line is not; and the next run goes on after what was read.
func TestJournal(t *testing.T) {
	entry := &ledger.Track{
		Name: "01 quay & <pier>", Variant: "loud",
		Chain: []stages.Use{
			{Name: "dither", Kind: "dither", Settings: stages.Settings{"bits": int64(24), "density": "none"}},
		},
		Stages:     []ledger.StageResult{{Stage: "dither", Kind: "dither"}},
		Boundaries: []ledger.Boundary{{Stage: "source"}, {Boundary: 1, Stage: "dither"}},
	}
	good := func(path string) int64 {
		j := openJournal(path, 0, nil)
		for _, err := range []error{
			j.Paths([]string{"01 quay.wav", "removed/01 quay.wav"}),
			j.Entry(entry, nil, map[string]Sight{"01 quay.wav": {stamp{Size: 7}, "abc"}}),
		} {
			if err != nil {
				t.Fatal(err)
			}
		}
		j.Close()
		return j.size
	}
	for name, c := range map[string]struct{ more, fault string }{
		"whole":           {"", ""},
		"torn":            {`{"schema":1,"kind":"paths","pat`, ""},
		"torn to nothing": {"\x00\x00\x00\x00", ""},
		"broken": {
			"{\"schema\":1,\"kind\n" + `{"schema":1,"kind":"paths","paths":["later"]}` + "\n",
			"line 3: not a line of a journal",
		},
		"an empty line": {"\n", "line 3: not a line of a journal"},
		"a later schema": {
			`{"schema":2,"kind":"paths","paths":["x"]}` + "\n",
			"line 3: a journal of schema 2; this version reads schema 1",
		},
		"no schema": {`{"kind":"paths","paths":["x"]}` + "\n", "line 3: a journal of schema 0"},
		"an unknown kind": {
			`{"schema":1,"kind":"tea"}` + "\n", `line 3: not a line of a journal: its kind is "tea"`,
		},
		"no paths": {
			`{"schema":1,"kind":"paths"}` + "\n", `line 3: not a line of a journal: its kind is "paths"`,
		},
		"a bad entry": {
			`{"schema":1,"kind":"entry","track":{"name":"x","chain":[{"name":"y"}]}}` + "\n",
			"line 3: 0 stages, want as many as in its chain",
		},
		"a track of words": {`{"schema":1,"kind":"entry","track":"x"}` + "\n", "line 3: not a line of a journal"},
	} {
		path := filepath.Join(t.TempDir(), JournalName)
		size := good(path)
		text := foldertest.Text(t, path)
		if err := os.WriteFile(path, []byte(text+c.more), 0o666); err != nil {
			t.Fatal(err)
		}
		got, err := readJournal(path)
		if err != nil || !strings.HasPrefix(got.fault, c.fault) || got.fault != "" && c.fault == "" {
			t.Errorf("%s: fault %q (%v), want %q", name, got.fault, err, c.fault)
		}
		if len(got.lines) != 2 || got.size != size {
			t.Fatalf("%s: %d lines, %d bytes, want 2 and %d", name, len(got.lines), got.size, size)
		}
		if fmt.Sprint(got.lines[0].Paths) != "[01 quay.wav removed/01 quay.wav]" ||
			got.lines[1].Files["01 quay.wav"].SHA256 != "abc" {
			t.Errorf("%s: %+v", name, got.lines)
		}
		var was, is bytes.Buffer
		if ledger.EncodeJSON(&was, entry) != nil || ledger.EncodeJSON(&is, got.lines[1].Track) != nil ||
			was.String() != is.String() {
			t.Errorf("%s: the entry became %s", name, &is)
		}
		if _, ok := got.lines[1].Track.Chain[0].Settings["bits"].(int64); !ok {
			t.Errorf("%s: the settings are %#v", name, got.lines[1].Track.Chain[0].Settings)
		}
		j := openJournal(path, got.size, nil)
		if err := j.Paths([]string{"next"}); err != nil {
			t.Fatal(err)
		}
		j.Close()
		if got, err := readJournal(path); err != nil || len(got.lines) != 3 || got.fault != "" ||
			got.lines[2].Paths[0] != "next" {
			t.Errorf("%s: gone on: %+v, %v", name, got, err)
		}
	}
}

// Lines of several goroutines do not mix, and a listener gets the same ones.
func TestJournalOfSeveralAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), JournalName)
	var told bytes.Buffer
	j := openJournal(path, 0, func(line []byte) { told.Write(line) })
	var g sync.WaitGroup
	for n := range 8 {
		g.Go(func() {
			for k := range 20 {
				if err := j.Paths([]string{fmt.Sprint(n, " ", k)}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	g.Wait()
	j.Close()
	got, err := readJournal(path)
	if err != nil || got.fault != "" || len(got.lines) != 160 {
		t.Errorf("%d lines, %q, %v", len(got.lines), got.fault, err)
	}
	if told.String() != foldertest.Text(t, path) {
		t.Error("the listener got other lines")
	}
	j.Remove()
	if got, err := readJournal(path); err != nil || len(got.lines) != 0 {
		t.Errorf("removed: %+v, %v", got, err)
	}
}
