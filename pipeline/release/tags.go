package release

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"ledgerline/pipeline/audiofile"
)

// tagsName is the table of tags, of the release and of a track.
const tagsName = "tags"

// The keys of [tags], and of [track."NAME".tags].
var (
	tagKeys      = []string{"album", "artist", "date", "catalogue_number", "ean"}
	trackTagKeys = []string{"title", "isrc", "number", "composer"}
)

// mostTag is the most characters of a tag that has no field of fixed length anywhere.
const mostTag = 1000

// mostTracks is the largest number of a track.
const mostTracks = 999

// tags checks a table of tags.
func (c *checker) tags(label string, n *node, own []string) (t audiofile.Tags) {
	if n == nil || !c.isTable(n, "a table of tags, such as "+example(own)) {
		return t
	}
	for _, key := range n.keys {
		v := n.table[key]
		v.text = strings.TrimPrefix(v.text, tagsName+".")
		if !slices.Contains(own, key) {
			c.unknown(v.line, label+"has no key ", key, own)
			continue
		}
		switch key {
		case "date":
			t.Date = c.date(label, v)
		case "number":
			t.Number = c.trackNumber(label, v)
		default:
			*textOf(&t, key) = c.tag(label, key, v)
		}
	}
	return t
}

// example is how a table of tags can begin.
func example(own []string) string { return fmt.Sprintf("%s = \"...\"", own[0]) }

// textOf is where a tag of text is kept.
func textOf(t *audiofile.Tags, key string) *string {
	return map[string]*string{
		"album": &t.Album, "artist": &t.Artist, "catalogue_number": &t.CatalogueNumber, "ean": &t.EAN,
		"title": &t.Title, "isrc": &t.ISRC, "composer": &t.Composer,
	}[key]
}

// tag is a tag of text, or empty where it cannot be one.
func (c *checker) tag(label, key string, n *node) string {
	s := c.name(label, n)
	if s == "" {
		return ""
	}
	most, field := mostTag, ""
	switch key {
	case "ean":
		return c.checked(label, n, s, eanFault)
	case "isrc":
		return strings.ReplaceAll(c.checked(label, n, s, isrcFault), "-", "")
	case "title":
		most, field = audiofile.MostTitle, ", as the field of a WAV file has"
	case "catalogue_number":
		most, field = audiofile.MostCatalogueNumber, ", as the field of a WAV file has"
	}
	if k := utf8.RuneCountInString(s); k > most {
		c.add(n.line, "%s%s has %d characters; want at most %d%s", label, n.text, k, most, field)
		return ""
	}
	return s
}

// checked is a number by which others know something, where it is one.
func (c *checker) checked(label string, n *node, s string, fault func(string) string) string {
	if f := fault(s); f != "" {
		c.add(n.line, "%s%s %s", label, n.text, f)
		return ""
	}
	return s
}

// isrcFault says why a text is no ISRC; empty: it is one. ISO 3901: two letters and three letters or digits
// of who gave it, two digits of the year, five of the recording. Hyphens between them are not part of it.
func isrcFault(s string) string {
	const want = "two capital letters, three capital letters or digits, and seven digits, such as " +
		"\"AA-6Q7-26-00001\""
	code := strings.ReplaceAll(s, "-", "")
	if strings.Contains(s, "-") && (len(s) != 15 || s[2] != '-' || s[6] != '-' || s[9] != '-') {
		return "has hyphens elsewhere than an ISRC; want " + want
	}
	if n := utf8.RuneCountInString(code); n != 12 {
		return fmt.Sprintf("is %d long without hyphens, and an ISRC is 12; want %s", n, want)
	}
	for i, b := range []byte(code) {
		letter, digit := 'A' <= b && b <= 'Z', '0' <= b && b <= '9'
		if i < 2 && !letter || i < 5 && !letter && !digit || i >= 5 && !digit {
			if up := strings.ToUpper(s); up != s && isrcFault(up) == "" {
				return fmt.Sprintf("has small letters, an ISRC none; want %q", up)
			}
			return "is no ISRC; want " + want
		}
	}
	return ""
}

// eanFault says why a text is no EAN-13; empty: it is one. The last of its thirteen digits makes the sum of
// all, each second one times three, a multiple of ten: GS1 General Specifications, 7.9.
func eanFault(s string) string {
	if strings.ContainsFunc(s, func(r rune) bool { return r < '0' || r > '9' }) {
		return "has other characters than digits; want the thirteen digits under the bar code"
	}
	if len(s) == 12 && eanFault("0"+s) == "" {
		return fmt.Sprintf("has 12 digits, those of a UPC; want %q, the EAN of it", "0"+s)
	}
	if len(s) != 13 {
		return fmt.Sprintf("has %d digits; want the thirteen under the bar code", len(s))
	}
	sum := 0
	for i, b := range []byte(s[:12]) {
		sum += int(b-'0') * (1 + i%2*2)
	}
	if check := byte('0' + (10-sum%10)%10); s[12] != check {
		return fmt.Sprintf("ends with the check digit %c, but the others want %c; compare it with the bar code",
			s[12], check)
	}
	return ""
}

// date is a year, a month or a day, as text or as TOML has a day.
func (c *checker) date(label string, n *node) string {
	const want = `want a year, a month or a day, such as "2026", "2026-11" or "2026-11-29"`
	s, ok := n.value.(string)
	if at, day := n.value.(time.Time); day &&
		at.Equal(time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, at.Location())) {
		s, ok = at.Format(time.DateOnly), true
	}
	if !ok {
		c.add(n.line, "%s%s is %s; %s, in quotes", label, n.text, typeName(n.data()), want)
		return ""
	}
	for _, form := range []string{"2006", "2006-01", time.DateOnly} {
		if at, err := time.Parse(form, s); err == nil && at.Year() > 0 {
			return s
		}
	}
	c.add(n.line, "%s%s is no date; %s", label, n.text, want)
	return ""
}

// trackNumber is the number of a track on its record.
func (c *checker) trackNumber(label string, n *node) int64 {
	v, ok := n.value.(int64)
	switch {
	case !ok:
		c.mistyped(label, n, "a whole number")
	case v < 1 || v > mostTracks:
		c.add(n.line, "%s%s is out of range; want a whole number from 1 to %d", label, n.text, mostTracks)
	default:
		return v
	}
	return 0
}

// oneISRCEach reports recordings of one ISRC.
func (c *checker) oneISRCEach(tracks []override) {
	first := map[string]override{}
	for _, t := range tracks {
		code := t.tags.ISRC
		if other, twice := first[code]; twice && code != "" {
			c.add(t.tagsLine, "%stags: isrc %q is that of [track.%s] at line %d; want one for each recording",
				t.label, code, key(other.name), other.tagsLine)
		}
		first[code] = t
	}
}

// tagsByTrack is what tells all tags of a track.
func (d *draft) tagsByTrack() func(track string) audiofile.Tags {
	own := make(map[string]audiofile.Tags, len(d.tracks))
	for i := range d.tracks {
		own[d.tracks[i].name] = d.tracks[i].tags
	}
	return func(track string) audiofile.Tags {
		t := d.tags
		if own, ok := own[track]; ok {
			t.Title, t.ISRC, t.Number, t.Composer = own.Title, own.ISRC, own.Number, own.Composer
		}
		return t
	}
}

// meaningOfTags are the tags by track, those of the release under the empty name; nil: there are none.
func (d *draft) meaningOfTags() map[string]audiofile.Tags {
	all := map[string]audiofile.Tags{}
	if d.tags != (audiofile.Tags{}) {
		all[""] = d.tags
	}
	for _, t := range d.tracks {
		if t.tags != (audiofile.Tags{}) {
			all[t.name] = t.tags
		}
	}
	return all
}
