package audiofile

import (
	"encoding/binary"
	"strconv"
	"strings"

	"ledgerline/pipeline/audiofile/flac"
)

// Tags are what a file says of the record and the track that it is. What is empty, or 0, is not written.
type Tags struct {
	Album           string `json:"album,omitempty"`
	Artist          string `json:"artist,omitempty"`
	Date            string `json:"date,omitempty"` // of release: 2026, 2026-11 or 2026-11-29
	CatalogueNumber string `json:"catalogue_number,omitempty"`
	EAN             string `json:"ean,omitempty"` // thirteen digits
	Title           string `json:"title,omitempty"`
	ISRC            string `json:"isrc,omitempty"` // twelve characters, without hyphens
	Number          int64  `json:"number,omitempty"`
	Composer        string `json:"composer,omitempty"`
}

// The most characters of tags that have a field of fixed length in the bext chunk.
const (
	MostTitle           = bextDescription
	MostCatalogueNumber = bextReference
)

// Tag is one of them, by its key in the release file.
type Tag struct{ Key, Text string }

// All are all tags in one order, also those that are empty.
func (t Tags) All() []Tag {
	return []Tag{
		{"album", t.Album}, {"artist", t.Artist}, {"date", t.Date}, {"catalogue_number", t.CatalogueNumber},
		{"ean", t.EAN},
		{"title", t.Title}, {"isrc", t.ISRC}, {"number", t.number()}, {"composer", t.Composer},
	}
}

// number is the track's number as text.
func (t Tags) number() string {
	if t.Number == 0 {
		return ""
	}
	return strconv.FormatInt(t.Number, 10)
}

// comments are the tags as a FLAC file has them: the names of the Vorbis comment specification, and those in
// common use for what it has none for.
func (t Tags) comments() (all []flac.Comment) {
	for _, c := range []flac.Comment{
		{Name: "TITLE", Text: t.Title},
		{Name: "ARTIST", Text: t.Artist},
		{Name: "ALBUM", Text: t.Album},
		{Name: "DATE", Text: t.Date},
		{Name: "TRACKNUMBER", Text: t.number()},
		{Name: "COMPOSER", Text: t.Composer},
		{Name: "ISRC", Text: t.ISRC},
		{Name: "CATALOGNUMBER", Text: t.CatalogueNumber},
		{Name: "BARCODE", Text: t.EAN},
	} {
		if c.Text != "" {
			all = append(all, c)
		}
	}
	return all
}

// info is the payload of the LIST chunk that has the tags, in UTF-8; none: there are none. It has no fields
// for a catalogue number, an EAN and an ISRC: they are named in its comment.
func (t Tags) info() []byte {
	if t == (Tags{}) {
		return nil
	}
	p := []byte("INFO")
	add := func(id, text string) {
		if text == "" {
			return
		}
		p = appendChunk(p, id, append([]byte(text), 0))
	}
	add("INAM", t.Title)
	add("IART", t.Artist)
	add("IPRD", t.Album)
	add("ICRD", t.Date)
	add("ITRK", t.number())
	add("IMUS", t.Composer)
	add("ICMT", t.numbers())
	add("ISFT", vendor)
	return p
}

// numbers are those by which others know the track and the record.
func (t Tags) numbers() string {
	var all []string
	for _, n := range []struct{ name, text string }{
		{"ISRC", t.ISRC}, {"catalogue number", t.CatalogueNumber}, {"EAN", t.EAN},
	} {
		if n.text != "" {
			all = append(all, n.name+" "+n.text)
		}
	}
	return strings.Join(all, ", ")
}

// appendChunk appends a chunk, and the pad byte after an odd one.
func appendChunk(p []byte, id string, data []byte) []byte {
	p = binary.LittleEndian.AppendUint32(append(p, id...), uint32(len(data)))
	p = append(p, data...)
	if len(data)%2 == 1 {
		p = append(p, 0)
	}
	return p
}
