package ledger

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
)

// discLedger is the record of three tracks on a disc of whole frames, in another order than that of their
// names.
func discLedger() *Ledger {
	level := func(x float64) *float64 { return &x }
	entry := func(name, delivery, encoding string, rate int, frames int64, tags audiofile.Tags) Track {
		tags.Album, tags.Artist, tags.EAN = "Night \"Ferry\"", "The Harbour Lights", "6291041500213"
		return Track{
			Name: name, Delivery: delivery, Tags: &tags, Source: Source{RateHz: 44100, Channels: 2, Frames: frames},
			Output: Output{File: delivery + "/" + name + ".wav", SHA256: strings.Repeat("0a", 32),
				Encoding: encoding, Frames: frames},
			Boundaries: []Boundary{{}, {RateHz: rate, SamplePeakDBFS: level(-1.0625), TruePeakDBTP: level(-1),
				LoudnessLUFS: level(-9.5)}},
		}
	}
	quay := audiofile.Tags{Title: "Quay", ISRC: "XXLL72600001", Composer: "A. Wave"}
	lantern := audiofile.Tags{Title: "Lantern", ISRC: "XXLL72600003"}
	l := New("test", "Night Ferry", 0, "")
	l.Order, l.GapsS = []string{"03 lantern", "01 quay", "02 breakwater"}, []float64{2, 0.5}
	l.Tracks = []Track{
		entry("01 quay", "disc", "pcm16", 44100, 588*75*61, quay),
		entry("01 quay", "video", "pcm24", 48000, 48000*61, quay),
		entry("02 breakwater", "disc", "pcm16", 44100, 588*(75*200+74), audiofile.Tags{}),
		entry("02 breakwater", "video", "pcm24", 48000, 48000*201, audiofile.Tags{}),
		entry("03 lantern", "disc", "pcm16", 44100, 588*75*4-1, lantern),
		entry("03 lantern", "video", "pcm24", 48000, 48000*4-24, lantern),
	}
	return l
}

// rowsOf are the rows of a sheet for programs, by column.
func rowsOf(t *testing.T, text string) (rows []map[string]string) {
	t.Helper()
	all, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = r[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// A disc has 75 frames a second of 588 samples; where each track begins is counted by hand. A gap of half a
// second is 37.5 frames, of which a disc has 38.
func TestASheetAddsUpTheRecord(t *testing.T) {
	want := map[string][][]string{
		"disc": {
			{"03 lantern", "0", "3.999977", "2", "00:00:00", "00:04:00"},
			{"01 quay", "5.999977", "61", "0.506667", "00:06:00", "01:01:00"},
			{"02 breakwater", "67.506644", "200.986667", "0", "01:07:38", "03:20:74"},
		},
		"video": {
			{"03 lantern", "0", "3.9995", "2", "", ""},
			{"01 quay", "5.9995", "61", "0.5", "", ""},
			{"02 breakwater", "67.4995", "201", "0", "", ""},
		},
	}
	for delivery, want := range want {
		var got [][]string
		for _, r := range rowsOf(t, discLedger().Paper(SheetCSVName, delivery)) {
			got = append(got, []string{r["name"], r["start_s"], r["length_s"], r["gap_after_s"], r["start_on_disc"],
				r["length_on_disc"]})
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", delivery, diff)
		}
	}
}

func TestASheetSaysWhatIsRecorded(t *testing.T) {
	golden(t, "sheet.txt", []byte(discLedger().Paper(SheetName, "disc")))
	golden(t, "sheet.csv", []byte(discLedger().Paper(SheetCSVName, "disc")))
	golden(t, "sheet.cue", []byte(discLedger().Paper(CueName, "disc")))
}

// Of a track that is not recorded, and of what comes after it, no times are told; its number is kept.
func TestASheetOfATrackThatIsMissing(t *testing.T) {
	l := discLedger()
	l.Tracks = append(l.Tracks[:0], l.Tracks[2:]...)
	rows := rowsOf(t, l.Paper(SheetCSVName, "disc"))
	if r := rows[1]; r["name"] != "01 quay" || r["file"] != "" || r["start_s"] != "5.999977" ||
		r["length_s"] != "" {
		t.Errorf("the missing track: %v", r)
	}
	if r := rows[2]; r["track"] != "3" || r["start_s"] != "" || r["start_on_disc"] != "" ||
		r["length_s"] != "200.986667" || r["length_on_disc"] != "03:20:74" {
		t.Errorf("the track after it: %v", r)
	}
	if text := l.Paper(SheetName, "disc"); !strings.Contains(text, "not rendered") {
		t.Errorf("the sheet does not say so:\n%s", text)
	}
	if text := l.Paper(CueName, "disc"); !strings.Contains(text, "TRACK 03 AUDIO") ||
		strings.Contains(text, "TRACK 02") || !strings.Contains(text, "REM track 2, 01 quay, is not rendered\r\n") {
		t.Errorf("the cue sheet:\n%s", text)
	}
	for _, name := range Papers {
		if text := l.Paper(name, "tape"); text != "" {
			t.Errorf("%s of a delivery that is not recorded: %q", name, text)
		}
	}
}

// Without an order tracks follow each other by name.
func TestASheetGoesByName(t *testing.T) {
	l := discLedger()
	l.Order, l.GapsS = nil, nil
	got := ""
	for _, r := range rowsOf(t, l.Paper(SheetCSVName, "disc")) {
		got += r["name"] + " at " + r["start_on_disc"] + "; "
	}
	if want := "01 quay at 00:00:00; 02 breakwater at 01:01:00; 03 lantern at 04:21:74; "; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A comparison tells of what the papers say otherwise.
func TestACompareTellsOfTheOrder(t *testing.T) {
	old, is := discLedger(), discLedger()
	old.Order, old.GapsS = nil, nil
	is.Tracks[0].Output.DiscFrames = true
	var got []string
	for _, c := range Compare(old, is, 0.01).Changes {
		got = append(got, c.String())
	}
	want := []string{
		`order: [01 quay, 02 breakwater, 03 lantern] -> [03 lantern, 01 quay, 02 breakwater]`,
		`gaps_s: none -> [2, 0.5]`,
		`disc_frames: false -> true`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if c := Compare(is, is, 0.01); len(c.Changes) > 0 {
		t.Errorf("of one ledger: %v", c.Changes)
	}
}
