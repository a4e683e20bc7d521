package fresh

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/whole"
)

// BriefName is the file beside the ledger that has the ledger in brief: what decides whether a render is up
// to date, and its row in the table. It holds for the ledger and the record along the tracks of which it
// names the hashes and for no other, so that a run that finds nothing to do need not read those. Where it
// is lost or broken, they are read.
const BriefName = ".ledgerline-brief.jsonl"

// briefForm is the version of the form of its lines; no other is read. Whoever changes what ledger.Row.has
// raises it.
const briefForm = 1

// brief is a ledger in brief.
type brief struct {
	head    briefHead
	entries []briefEntry
}

// leastLine is less than the line of an entry has, in bytes.
const leastLine = 100

// briefHead is the first line.
type briefHead struct {
	Form   int    `json:"form"`
	Ledger string `json:"ledger_sha256"`
	// of the record along the tracks, in which every record that the ledger names is; empty: there is no such
	// file
	Along   string        `json:"along_sha256,omitempty"`
	Entries int           `json:"entries"`
	Head    ledger.Ledger `json:"head"` // without entries
}

// briefEntry is a line for each entry: its files and its row.
type briefEntry struct {
	Name       string          `json:"name"` // this and what follows are as in the entry
	Variant    string          `json:"variant,omitempty"`
	Delivery   string          `json:"delivery,omitempty"`
	Continuous []ledger.Joined `json:"continuous,omitempty"`
	Source     ledger.Source   `json:"source"`
	Output     ledger.Output   `json:"output"`
	Removed    *ledger.Extra   `json:"removed,omitempty"`
	Matched    *ledger.Extra   `json:"matched,omitempty"`
	Along      string          `json:"along_sha256,omitempty"`
	Recipe     string          `json:"recipe_sha256,omitempty"`

	Peak           *float64 `json:"peak,omitempty"` // of the source, and so are the next two
	NonFinite      int64    `json:"nonfinite,omitempty"`
	FirstNonFinite *float64 `json:"first_nonfinite,omitempty"`

	Row ledger.Row `json:"row"`
}

// briefOf is a ledger of that hash in brief.
func briefOf(l *ledger.Ledger, sha, along string) *brief {
	b := &brief{head: briefHead{Form: briefForm, Ledger: sha, Along: along, Entries: len(l.Tracks), Head: *l}}
	b.head.Head.Tracks = nil
	for i := range l.Tracks {
		t := &l.Tracks[i]
		x := briefEntry{
			Name: t.Name, Variant: t.Variant, Delivery: t.Delivery, Continuous: t.Continuous,
			Source: t.Source, Output: t.Output,
			Removed: t.Removed, Matched: t.Matched, Along: t.Along, Recipe: t.Recipe, Row: t.Row(),
		}
		if len(t.Boundaries) > 0 {
			s := &t.Boundaries[0]
			x.Peak, x.NonFinite, x.FirstNonFinite = s.SamplePeakDBFS, s.NonFiniteSamples, s.FirstNonFiniteTimeS
		}
		b.entries = append(b.entries, x)
	}
	return b
}

// track is the entry without its chain and its readings, but for those of the source that decide whether it
// is up to date.
func (x *briefEntry) track() ledger.Track {
	return ledger.Track{
		Name: x.Name, Variant: x.Variant, Delivery: x.Delivery, Continuous: x.Continuous,
		Source: x.Source, Output: x.Output,
		Removed: x.Removed, Matched: x.Matched, Along: x.Along, Recipe: x.Recipe,
		Boundaries: []ledger.Boundary{
			{SamplePeakDBFS: x.Peak, NonFiniteSamples: x.NonFinite, FirstNonFiniteTimeS: x.FirstNonFinite},
		},
	}
}

// row is the entry's row.
func (x *briefEntry) row() ledger.Row {
	r := x.Row
	r.Name, r.Variant, r.Delivery = x.Name, x.Variant, x.Delivery
	r.DurationS, r.Limited = x.Source.DurationS, x.Output.LimitedSamples
	return r
}

// readBriefHead reads the first line of what is in a folder.
func readBriefHead(folder string) (head briefHead, err error) {
	f, err := whole.Open(filepath.Join(folder, BriefName))
	if err != nil {
		return head, err
	}
	defer f.Close()
	line, err := nextLine(bufio.NewReader(f))
	if err != nil {
		return head, err
	}
	return parseBriefHead(line)
}

func parseBriefHead(line []byte) (head briefHead, err error) {
	if err := json.Unmarshal(line, &head); err != nil {
		return head, err
	}
	if head.Form != briefForm {
		return head, fmt.Errorf("a form %d; this version reads %d", head.Form, briefForm)
	}
	return head, nil
}

// readBrief reads what is in a folder; nil: there is none that can be read.
func readBrief(folder string) *brief {
	text, err := whole.ReadFile(filepath.Join(folder, BriefName))
	if err != nil {
		return nil
	}
	first, rest, _ := bytes.Cut(text, []byte("\n"))
	b := &brief{}
	if b.head, err = parseBriefHead(first); err != nil {
		return nil
	}
	p := &puller{text: rest}
	b.entries = make([]briefEntry, 0, max(0, min(b.head.Entries, len(rest)/leastLine)))
	for !p.ended() && !p.failed && len(b.entries) < b.head.Entries {
		b.entries = append(b.entries, briefEntry{})
		b.entries[len(b.entries)-1].pull(p)
	}
	if len(b.entries) != b.head.Entries || !p.ended() {
		return nil
	}
	return b
}

// write writes it in a folder. A failure is ignored: what is not kept is read from the ledger.
func (b *brief) write(folder string) {
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	err := e.Encode(&b.head)
	for i := range b.entries {
		err = errors.Join(err, e.Encode(&b.entries[i]))
	}
	if err == nil {
		_ = whole.Write(filepath.Join(folder, BriefName), text.Bytes())
	}
}

// RemoveBrief deletes what is in the folder.
func (p *Past) RemoveBrief() { _ = os.Remove(filepath.Join(p.Folder, BriefName)) }

// holds says whether it is of the ledger and the record along the tracks that are in the folder.
func (b *brief) holds(ctx context.Context, p *Past) bool {
	path := filepath.Join(p.Folder, ledger.FileName)
	if x, err := p.Seen.Hash(ctx, path); err != nil || x.SHA256 != b.head.Ledger || x.stamp != p.stamp {
		return false
	}
	x, err := p.Seen.Hash(ctx, along.Beside(path))
	if b.head.Along == "" {
		return errors.Is(err, fs.ErrNotExist)
	}
	return err == nil && x.SHA256 == b.head.Along
}

// SaveBrief writes the ledger in brief, if it is the one in the folder: this run has written it, or had
// read it when it began. The record along the tracks is as this run has left it.
func (p *Past) SaveBrief(ctx context.Context, l *ledger.Ledger) {
	path := filepath.Join(p.Folder, ledger.FileName)
	x, err := p.Seen.Hash(ctx, path)
	if err != nil || l == p.Ledger && (x.stamp != p.stamp || !p.stamp.settled(p.at)) {
		return
	}
	sha := ""
	switch a, err := p.Seen.Hash(ctx, along.Beside(path)); {
	case err == nil:
		sha = a.SHA256
	case !errors.Is(err, fs.ErrNotExist):
		return
	}
	for i := range l.Tracks {
		if t := &l.Tracks[i]; t.Along != "" && !p.Along.Has(t.Along) || len(t.Coders) > 0 {
			return
		}
	}
	if head, err := readBriefHead(p.Folder); err == nil && head.Ledger == x.SHA256 && head.Along == sha {
		return
	}
	briefOf(l, x.SHA256, sha).write(p.Folder)
}
