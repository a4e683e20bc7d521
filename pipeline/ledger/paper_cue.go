package ledger

import (
	"fmt"
	"strings"
)

// CueName is the cue sheet in the folder of a delivery that asks for it.
const CueName = "sheet.cue"

// cue is the text by which programs write a disc of the files of a delivery: the form in common use, a file
// for each track, in UTF-8, with the ends of lines that the form has had from the start.
func (s *sheet) cue() string {
	if s.first == nil {
		return ""
	}
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\r\n", args...) }
	text := func(key, text string) {
		if text != "" {
			line("%s %s", key, cueText(text))
		}
	}
	all := s.first.tags()
	if all.EAN != "" {
		line("CATALOG %s", all.EAN)
	}
	text("PERFORMER", all.Artist)
	if all.Album == "" {
		all.Album = s.title
	}
	text("TITLE", all.Album)
	for i, r := range s.rows {
		if r.track == nil {
			line("REM track %d, %s, is not rendered", i+1, clean(r.name))
			continue
		}
		tags := r.track.tags()
		line("FILE %s WAVE", cueText(r.fileName()))
		line("  TRACK %02d AUDIO", i+1)
		text("    TITLE", r.titleOrName())
		text("    PERFORMER", all.Artist)
		text("    SONGWRITER", tags.Composer)
		if tags.ISRC != "" {
			line("    ISRC %s", tags.ISRC)
		}
		if i > 0 && s.rows[i-1].gapOnDisc > 0 {
			line("    PREGAP %s", discClock(s.rows[i-1].gapOnDisc))
		}
		line("    INDEX 01 00:00:00")
	}
	return b.String()
}

// cueText is a text in double quotes. The form has no way to write one within them.
func cueText(text string) string {
	return `"` + strings.ReplaceAll(clean(text), `"`, "'") + `"`
}
