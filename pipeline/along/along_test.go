package along

import (
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// Columns are of whole segments, cover every frame once, and are as equal as can be.
func TestColumnsCoverTheTrack(t *testing.T) {
	for _, rate := range []int{8000, 11025, 22050, 44100, 48000, 96000, 384000} {
		for _, frames := range []int64{
			0, 1, int64(rate)/100 - 1, int64(rate) / 100, int64(rate)/100 + 1, int64(rate) * 6,
			int64(rate)*7 + 1, 12345678,
		} {
			n := Columns(rate, frames)
			if n > MostColumns || frames > 0 && n == 0 || frames == 0 && n != 0 {
				t.Fatalf("%d Hz, %d frames: %d columns", rate, frames, n)
			}
			next, least, most := int64(0), int64(math.MaxInt64), int64(0)
			for i := range n {
				from, to := Bounds(rate, frames, i, n)
				if from != next || to <= from || Segment(rate, from) == Segment(rate, from-1) {
					t.Fatalf("%d Hz, %d frames: column %d is %d to %d after %d", rate, frames, i, from, to, next)
				}
				segments := Segment(rate, to-1) - Segment(rate, from) + 1
				least, most, next = min(least, segments), max(most, segments), to
			}
			if next != frames || n > 0 && most-least > 1 {
				t.Errorf("%d Hz, %d frames: columns of %d to %d segments end at %d", rate, frames, least, most, next)
			}
		}
	}
}

// Segments begin at the frame nearest to a multiple of 10 ms.
func TestSegments(t *testing.T) {
	for _, rate := range []int{11025, 22050, 44100} {
		for frame := range int64(3000) {
			want := int64(0)
			for math.Floor(float64(want+1)*float64(rate)/100+0.5) <= float64(frame) {
				want++
			}
			if got := Segment(rate, frame); got != want {
				t.Fatalf("%d Hz: frame %d is in segment %d, want %d", rate, frame, got, want)
			}
		}
	}
}

func aRecord() *Record {
	r := &Record{
		Track: "01 <quay> & \u2028", RateHz: 44100, Channels: 2, Frames: 1000, Clipped: []int64{0, 3, 7},
	}
	for _, l := range []*Levels{&r.PeakIn, &r.PeakOut, &r.Momentary, &r.Removed} {
		l.Add(-1.23456)
		l.Add(math.Inf(-1))
		l.Add(-0.001)
	}
	r.Cuts = []Wave{{Frame: 7, Channel: 1, First: 2, Driven: []int32{1, -2, 3}, Removed: []int32{0, 1}}}
	return r
}

// A record is found again by its hash as it was written; what was altered is not found.
func TestFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.along.jsonl")
	if Beside(filepath.Join(filepath.Dir(path), "ledger.json")) != path {
		t.Error(Beside("ledger.json"))
	}
	line, sha, err := aRecord().Line()
	if err != nil || strings.Contains(string(line), "\n") || strings.Contains(string(line), "-0,") ||
		!strings.Contains(string(line), "[-1.23,null,0]") {
		t.Fatalf("%s, %v", line, err)
	}
	s := Store{}
	s.Add(line)
	if err := s.Write(path, []string{"of none", sha}); err != nil {
		t.Fatal(err)
	}
	got, err := Read(path)
	if err != nil || len(got) != 1 {
		t.Fatalf("%d lines, %v", len(got), err)
	}
	r, err := got.Record(sha)
	if err != nil {
		t.Fatal(err)
	}
	again, _, _ := r.Line()
	if string(again) != string(line) || r.Cuts[0].Driven[1] != -2 || !math.IsNaN(r.PeakIn[1]) {
		t.Errorf("%s became %s", line, again)
	}
	if err := os.WriteFile(path, []byte(strings.Replace(string(line), "-1.23", "-1.24", 1)+"\n"),
		0o666); err != nil {
		t.Fatal(err)
	}
	if got, err := Read(path); err != nil || got.Has(sha) {
		t.Errorf("an altered line is taken for the one that was written: %v", err)
	}
}

func TestFileThatIsNotThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger.along.jsonl")
	s, err := Read(path)
	if err != nil || len(s) != 0 || s.Write(path, nil) != nil {
		t.Error(s, err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("a file was made for nothing")
	}
	if r, err := s.Record("of none"); r != nil || err != nil {
		t.Error(r, err)
	}
}

// A line that is no record is an error that says so.
func TestBadLines(t *testing.T) {
	for _, line := range []string{`{`, `{"rate_hz":0,"channels":1}`,
		`{"rate_hz":44100,"channels":1,"peak_in_dbfs":[1,2]}`,
		`{"rate_hz":44100,"channels":1,"peak_in_dbfs":[1],"peak_out_dbfs":[1],"momentary_lufs":[1],"removed_db":[1],"clipped":[0],"spectrum":{"hz":[100]}}`} {
		s := Store{}
		s.Add([]byte(line))
		if _, err := s.Record(hash([]byte(line))); err == nil ||
			!strings.Contains(err.Error(), "not a record along a track") {
			t.Errorf("%s: %v", line, err)
		}
	}
}

func TestPrint(t *testing.T) {
	var text strings.Builder
	if err := aRecord().Print(&text); err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(text.String(), "\n")
	if want := []string{"0:00.01", "-", "-", "-", "-", "-", "3"}; !reflect.DeepEqual(strings.Fields(rows[3]),
		want) {
		t.Errorf("%q, want %q", rows[3], want)
	}
}
