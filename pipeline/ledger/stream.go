package ledger

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
)

// writeEntries writes a ledger as EncodeJSON does, an entry at a time, so that no more than one is in
// memory as text.
func (l *Ledger) writeEntries(w io.Writer) error {
	if len(l.Tracks) == 0 {
		return EncodeJSON(w, l)
	}
	around := *l
	around.Tracks = []Track{}
	var text bytes.Buffer
	if err := EncodeJSON(&text, &around); err != nil {
		return err
	}
	head, rest, found := bytes.Cut(text.Bytes(), []byte("\n  \"tracks\": []")) // no string has a line's end
	if !found {
		return errors.New("a ledger without a list of tracks")
	}
	out := bufio.NewWriterSize(w, 1<<16)
	_, _ = out.Write(head) // an error stays and is told of by Flush
	_, _ = out.WriteString("\n  \"tracks\": [")
	var entry bytes.Buffer
	e := json.NewEncoder(&entry)
	e.SetEscapeHTML(false)
	e.SetIndent("    ", "  ")
	for i := range l.Tracks {
		entry.Reset()
		if err := e.Encode(&l.Tracks[i]); err != nil {
			return err
		}
		if i > 0 {
			_ = out.WriteByte(',')
		}
		_, _ = out.WriteString("\n    ")
		_, _ = out.Write(bytes.TrimSuffix(entry.Bytes(), []byte("\n")))
	}
	_, _ = out.WriteString("\n  ]")
	_, _ = out.Write(rest)
	return out.Flush()
}

// counter counts what is written, and hands on no more than a ledger may have.
type counter struct {
	to io.Writer
	n  int64
}

func (c *counter) Write(p []byte) (int, error) {
	c.n += int64(len(p))
	if c.n > largest {
		return len(p), nil
	}
	return c.to.Write(p)
}

// readEntries reads a ledger an entry at a time, so that no more than one is in memory as text. What is
// wrong with it is not told: decode does.
func readEntries(r io.Reader) (l *Ledger, ok bool) {
	d := json.NewDecoder(r)
	l = &Ledger{}
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, false
	}
	seen := map[string]bool{}
	for d.More() {
		t, err := d.Token()
		name, isName := t.(string)
		if err != nil || !isName || seen[name] {
			return nil, false
		}
		seen[name] = true
		switch name {
		case "schema":
			err = d.Decode(&l.Schema)
		case "tool":
			err = d.Decode(&l.Tool)
		case "title":
			err = d.Decode(&l.Title)
		case "ceiling_dbfs":
			err = d.Decode(&l.CeilingDBFS)
		case "release_sha256":
			err = d.Decode(&l.ReleaseSHA256)
		case "order":
			err = d.Decode(&l.Order)
		case "gaps_s":
			err = d.Decode(&l.GapsS)
		case "papers":
			err = d.Decode(&l.Papers)
		case "totals":
			err = d.Decode(&l.Totals)
		case "tracks":
			l.Tracks, err = readList(d)
		default:
			return nil, false
		}
		if err != nil {
			return nil, false
		}
	}
	if _, err := d.Token(); err != nil { // its end
		return nil, false
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, false
	}
	return l, l.fault() == nil
}

func readList(d *json.Decoder) ([]Track, error) {
	if t, err := d.Token(); err != nil || t != json.Delim('[') {
		return nil, errors.Join(err, errors.New("not a list"))
	}
	tracks := []Track{}
	for d.More() {
		var t Track
		if err := d.Decode(&t); err != nil {
			return nil, err
		}
		tracks = append(tracks, t)
	}
	_, err := d.Token()
	return tracks, err
}
