package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

type tidyVerb struct {
	Release string `arg:"" optional:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file or folder; default: ${release} in this folder."`
	Remove  bool   `help:"Delete what is left over."`
	JSON    bool   `name:"json" help:"Print the list as JSON."`
}

func (*tidyVerb) help() verbHelp {
	return verbHelp{
		about: `Lists the files in the output folder that do not belong to the release, and why:
masters, deliveries with their sheets, matched copies and removed files that it
no longer asks for. With --remove, deletes them if their content is still what
this release wrote. Altered files and files without a record are never deleted.`,
		example: "ledgerline tidy examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "listed, or deleted"},
			{exitFailed, "a file cannot be read or deleted"},
			{exitUsage, "the command line, the release file or the ledger is wrong"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP)"},
		},
	}
}

// tidySchema is the version of the list's JSON form.
const tidySchema = 1

// tidyList is what tidy lists.
type tidyList struct {
	Schema   int                 `json:"schema"`
	Folder   string              `json:"folder"`    // as the release file has it
	LeftOver pipeline.Left       `json:"left_over"` // what can be deleted
	Deleted  pipeline.Left       `json:"deleted"`   // what has been
	Files    []pipeline.TidyFile `json:"files"`     // by path
}

func (v *tidyVerb) run(ctx context.Context, s *streams) error {
	rel, err := s.load(v.Release, true)
	if err != nil {
		return err
	}
	files, err := pipeline.Tidy(ctx, rel, v.Remove)
	if err != nil {
		return err
	}
	list := newTidyList(rel, files)
	if err := v.print(s.out, list); err != nil {
		return err
	}
	var errs []error
	for _, f := range files {
		if f.Err != nil {
			errs = append(errs, f.Err)
			fmt.Fprintf(s.err, "ledgerline: %v\n", f.Err)
		}
	}
	return failed(errs...)
}

func newTidyList(r *release.Release, files []pipeline.TidyFile) *tidyList {
	l := &tidyList{
		Schema: tidySchema, Folder: r.Output.FolderAsWritten, Files: append([]pipeline.TidyFile{}, files...),
	}
	for _, f := range files {
		switch f.State {
		case pipeline.LeftOver:
			l.LeftOver.Files++
			l.LeftOver.Bytes += f.Bytes
		case pipeline.Deleted:
			l.Deleted.Files++
			l.Deleted.Bytes += f.Bytes
		case pipeline.Altered:
			l.LeftOver.Altered++
		}
	}
	return l
}

func (v *tidyVerb) print(w io.Writer, l *tidyList) error {
	if v.JSON {
		return ledger.EncodeJSON(w, l)
	}
	return printFitted(w, func(b *strings.Builder) { l.print(b, v) })
}

// print writes the list for people: what can be deleted, what is kept, and the totals.
func (l *tidyList) print(b *strings.Builder, v *tidyVerb) {
	var gone, kept []pipeline.TidyFile
	for _, f := range l.Files {
		switch f.State {
		case pipeline.LeftOver:
			gone = append(gone, f)
		case pipeline.Deleted:
			f.Why = "deleted: " + f.Why
			gone = append(gone, f)
		default:
			f.Why = "kept: " + f.Why
			kept = append(kept, f)
		}
	}
	l.rows(b, append(gone, kept...))
	if len(l.Files) > 0 {
		b.WriteByte('\n')
	}
	if n := len(kept); n > 0 {
		fmt.Fprintf(b, "%s in %s kept: altered, or not written by this release\n", many(n, "file"), l.Folder)
	}
	switch {
	case l.Deleted.Files > 0:
		fmt.Fprintf(b, "deleted %v\n", l.Deleted)
	case l.LeftOver.Files == 0 && len(kept) > 0:
		fmt.Fprintf(b, "nothing in %s can be deleted\n", l.Folder)
	case l.LeftOver.Files == 0:
		fmt.Fprintf(b, "nothing is left over in %s\n", l.Folder)
	case !v.Remove && l.LeftOver.Files == 1:
		fmt.Fprintf(b, "left over: %v; --remove deletes it\n", l.LeftOver)
	case !v.Remove:
		fmt.Fprintf(b, "left over: %v; --remove deletes them\n", l.LeftOver)
	}
}

// rows are a row for each file: its path, its size and why it is listed.
func (l *tidyList) rows(b *strings.Builder, files []pipeline.TidyFile) {
	table := ledger.Table{Columns: []ledger.Column{{Left: true}, {Gap: 2}, {Gap: 2, Left: true}}}
	for _, f := range files {
		table.Rows = append(table.Rows, []string{l.Folder + "/" + f.File, pipeline.Size(f.Bytes), f.Why})
	}
	_ = ledger.Printer{Out: b}.Table(0, table) // a builder takes everything
}
