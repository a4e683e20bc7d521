package ledger

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ledgerline/pipeline/audiofile"
)

// The sheet of a delivery that asks for it, in its folder: for people, and for programs.
const (
	SheetName    = "sheet.txt"
	SheetCSVName = "sheet.csv"
)

// unknown is printed in place of a figure that is missing.
const unknown = "-"

// text is the sheet for people: what the record is, the tracks, their levels, and the sums of the files.
func (s *sheet) text() string {
	if s.first == nil {
		return ""
	}
	var b strings.Builder
	p := Printer{Out: &b} // a builder takes everything
	fmt.Fprintf(&b, "%s: %s\n", clean(s.title), clean(s.delivery))
	fmt.Fprintf(&b, "%s, %d Hz, %s\n\n", s.first.Output.Encoding, s.first.rateOut(),
		many(s.first.Source.Channels, "channel"))
	_ = p.Table(0, Table{Columns: []Column{{Left: true}, {Gap: 2, Left: true}}, Rows: s.head()})
	b.WriteByte('\n')
	_ = p.Table(0, s.times())
	b.WriteByte('\n')
	_ = p.Table(0, s.levels())
	b.WriteString("\nSHA-256\n")
	for i, r := range s.rows {
		if r.track != nil {
			fmt.Fprintf(&b, "%2d  %s  %s\n", i+1, r.track.Output.SHA256, clean(r.fileName()))
		}
	}
	return b.String()
}

// head is what is said of the record.
func (s *sheet) head() (rows [][]string) {
	add := func(name, text string) {
		if text != "" {
			rows = append(rows, []string{name, clean(text)})
		}
	}
	t := s.first.tags()
	add("album", t.Album)
	add("artist", t.Artist)
	add("date", t.Date)
	add("catalogue number", t.CatalogueNumber)
	add("EAN", t.EAN)
	add("tracks", strconv.Itoa(len(s.rows)))
	length := s.clock(s.frames)
	if s.disc && s.onDisc >= 0 {
		length += ", on a disc " + discClock(s.onDisc)
	}
	add("length", length)
	return rows
}

// times are the tracks: what they are called, and where they begin.
func (s *sheet) times() Table {
	columns := []rowText{
		{Column{Head: "", Left: true}, func(i int) string { return fmt.Sprintf("%2d", i+1) }},
		{Column{Head: "title", Gap: 2, Left: true}, func(i int) string { return clean(s.rows[i].titleOrName()) }},
		{Column{Head: "start", Unit: "m:s", Gap: 2}, func(i int) string { return s.clock(s.rows[i].start) }},
		{Column{Head: "length", Unit: "m:s", Gap: 2}, func(i int) string { return s.clock(s.rows[i].length()) }},
	}
	if slices.ContainsFunc(s.rows, func(r sheetRow) bool { return r.gap > 0 }) {
		columns = append(columns, rowText{Column{Head: "gap after", Unit: "m:s", Gap: 2}, func(i int) string {
			if i == len(s.rows)-1 {
				return ""
			}
			return s.clock(s.rows[i].gap)
		}})
	}
	if s.disc {
		columns = append(columns,
			rowText{Column{Head: "disc start", Unit: "m:s:1/75", Gap: 2},
				func(i int) string { return discClock(s.rows[i].startOnDisc) }},
			rowText{Column{Head: "disc length", Unit: "m:s:1/75", Gap: 2}, func(i int) string {
				if s.rows[i].track == nil {
					return unknown
				}
				return discClock(s.rows[i].lengthOnDisc)
			}})
	}
	for _, c := range []struct {
		head string
		of   func(audiofile.Tags) string
	}{
		{"ISRC", func(t audiofile.Tags) string { return t.ISRC }},
		{"composer", func(t audiofile.Tags) string { return t.Composer }},
	} {
		if slices.ContainsFunc(s.rows, func(r sheetRow) bool { return c.of(r.track.tags()) != "" }) {
			columns = append(columns, rowText{Column{Head: c.head, Gap: 2, Left: true},
				func(i int) string { return clean(c.of(s.rows[i].track.tags())) }})
		}
	}
	return tableOfTexts(columns, len(s.rows))
}

// levels are the tracks: what their files read.
func (s *sheet) levels() Table {
	level := func(of func(*Boundary) *float64) func(i int) string {
		return func(i int) string {
			if b := s.rows[i].written(); b != nil && of(b) != nil {
				return strconv.FormatFloat(*of(b), 'f', 2, 64)
			}
			return unknown
		}
	}
	return tableOfTexts([]rowText{
		{Column{Left: true}, func(i int) string { return fmt.Sprintf("%2d", i+1) }},
		{Column{Head: "file", Gap: 2, Left: true}, func(i int) string {
			if s.rows[i].track == nil {
				return "not rendered"
			}
			return clean(s.rows[i].fileName())
		}},
		{Column{Head: "sample peak", Unit: "dBFS", Gap: 2},
			level(func(b *Boundary) *float64 { return b.SamplePeakDBFS })},
		{Column{Head: "true peak", Unit: "dBTP", Gap: 2},
			level(func(b *Boundary) *float64 { return b.TruePeakDBTP })},
		{Column{Head: "loudness", Unit: "LUFS", Gap: 2},
			level(func(b *Boundary) *float64 { return b.LoudnessLUFS })},
	}, len(s.rows))
}

// A rowText is a column and what a row has in it.
type rowText struct {
	Column
	of func(i int) string
}

func tableOfTexts(columns []rowText, rows int) (t Table) {
	for _, c := range columns {
		t.Columns = append(t.Columns, c.Column)
	}
	for i := range rows {
		var row []string
		for _, c := range columns {
			row = append(row, c.of(i))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// tags are those of an entry, or none.
func (t *Track) tags() audiofile.Tags {
	if t == nil || t.Tags == nil {
		return audiofile.Tags{}
	}
	return *t.Tags
}

func (r sheetRow) titleOrName() string {
	if title := r.track.tags().Title; title != "" {
		return title
	}
	return r.name
}

// length is in frames; -1: not known.
func (r sheetRow) length() int64 {
	if r.track == nil {
		return -1
	}
	return r.track.Output.Frames
}

func (r sheetRow) written() *Boundary {
	if r.track == nil {
		return nil
	}
	return r.track.Written()
}

// clock is a time in minutes and seconds, to the nearest millisecond.
func (s *sheet) clock(frames int64) string {
	rate := int64(s.first.rateOut())
	if frames < 0 || rate <= 0 {
		return unknown
	}
	ms := (frames*1000 + rate/2) / rate
	return fmt.Sprintf("%02d:%02d.%03d", ms/60000, ms/1000%60, ms%1000)
}

// discClock is a time in minutes, seconds and frames of a disc.
func discClock(frames int64) string {
	if frames < 0 {
		return unknown
	}
	return fmt.Sprintf("%02d:%02d:%02d", frames/discFramesASecond/60, frames/discFramesASecond%60,
		frames%discFramesASecond)
}
