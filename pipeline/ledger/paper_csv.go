package ledger

import (
	"encoding/csv"
	"strconv"
	"strings"
)

// csvHead are the columns of the sheet for programs.
var csvHead = []string{
	"track", "name", "title", "composer", "isrc", "file", "start_s", "length_s", "gap_after_s",
	"start_on_disc", "length_on_disc", "frames", "rate_hz", "encoding",
	"sample_peak_dbfs", "true_peak_dbtp", "loudness_lufs", "sha256",
	"album", "artist", "date", "catalogue_number", "ean",
}

// csv is the sheet for programs (RFC 4180, but for the ends of its lines). What there is none of is empty.
func (s *sheet) csv() string {
	if s.first == nil {
		return ""
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	_ = w.Write(csvHead) // a builder takes everything
	for i := range s.rows {
		_ = w.Write(s.csvRow(i))
	}
	w.Flush()
	return b.String()
}

func (s *sheet) csvRow(i int) []string {
	r, rate := s.rows[i], s.first.rateOut()
	tags := r.track.tags()
	seconds := func(frames int64) string {
		if frames < 0 {
			return ""
		}
		return strconv.FormatFloat(Seconds(frames, rate), 'f', -1, 64)
	}
	onDisc := func(frames int64) string {
		if !s.disc || frames < 0 {
			return ""
		}
		return discClock(frames)
	}
	level := func(of func(*Boundary) *float64) string {
		if b := r.written(); b != nil && of(b) != nil {
			return strconv.FormatFloat(*of(b), 'f', -1, 64)
		}
		return ""
	}
	row := []string{strconv.Itoa(i + 1), r.name, tags.Title, tags.Composer, tags.ISRC}
	if r.track == nil {
		none := make([]string, 8)
		row = append(append(row, "", seconds(r.start), "", seconds(r.gap), onDisc(r.startOnDisc)), none...)
	} else {
		row = append(row, r.fileName(), seconds(r.start), seconds(r.length()), seconds(r.gap),
			onDisc(r.startOnDisc), onDisc(r.lengthOnDisc),
			strconv.FormatInt(r.track.Output.Frames, 10), strconv.Itoa(rate), r.track.Output.Encoding,
			level(func(b *Boundary) *float64 { return b.SamplePeakDBFS }),
			level(func(b *Boundary) *float64 { return b.TruePeakDBTP }),
			level(func(b *Boundary) *float64 { return b.LoudnessLUFS }), r.track.Output.SHA256)
	}
	all := s.first.tags()
	return append(row, all.Album, all.Artist, all.Date, all.CatalogueNumber, all.EAN)
}
