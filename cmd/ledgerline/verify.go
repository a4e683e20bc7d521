package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/verify"
)

type verifyVerb struct {
	Ledger string `arg:"" optional:"" default:"${release}" name:"LEDGER" files:"json" help:"Ledger, release file or folder; default: ${release} in this folder."`
	JSON   bool   `name:"json" help:"Print the list as JSON."`
}

func (*verifyVerb) help() verbHelp {
	return verbHelp{
		about: `Reads the whole of every file that a ledger records, sheets included, and says
which are as recorded, altered or missing, and which files beside them are
foreign: this release did not write them. Given a release file, it reads the
mixes too. Changes nothing.`,
		example: "ledgerline verify examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "all files are as they are recorded"},
			{exitFailed, "a file cannot be read"},
			{exitUsage, "the command line is wrong, or there is no ledger there"},
			{exitRequirement, "a file is altered, missing or foreign"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP)"},
		},
	}
}

// verifySchema is the version of the list's JSON form.
const verifySchema = 1

// verifyList is what verify lists.
type verifyList struct {
	Schema  int           `json:"schema"`
	Ledger  string        `json:"ledger"` // the file
	Present int           `json:"present"`
	Altered int           `json:"altered"`
	Missing int           `json:"missing"`
	Foreign int           `json:"foreign"`
	Unread  int           `json:"unread,omitempty"` // cannot be read
	Files   []verify.File `json:"files"`            // by name
}

func (v *verifyVerb) run(ctx context.Context, s *streams) error {
	l, at, folder, err := s.recorded(v.Ledger)
	if err != nil {
		return &failure{code: exitUsage, err: err}
	}
	files, err := verify.Files(ctx, filepath.Dir(at), l, folder)
	if err != nil {
		return err
	}
	list := newVerifyList(at, files)
	if err := v.print(s.out, list); err != nil {
		return err
	}
	code := exitDone
	if list.Altered+list.Missing+list.Foreign > 0 {
		code = exitRequirement
	}
	for _, f := range files {
		if f.Err != nil {
			code = exitFailed
			fmt.Fprintf(s.err, "ledgerline: %v\n", f.Err)
		}
	}
	if code != exitDone {
		return &failure{code: code}
	}
	return nil
}

var errNoPlace = errors.New("verify needs the place of the ledger: want a file or a folder, not standard " +
	"input or a pipe")

// recorded is the ledger that a path leads to, its file, and the folder of the release file; empty: none was
// given.
func (s *streams) recorded(path string) (l *ledger.Ledger, at, folder string, err error) {
	if path == "-" {
		return nil, "", "", errNoPlace
	}
	if l, err = s.storedAt(path); err != nil {
		return nil, "", "", err
	}
	at = path
	switch {
	case strings.EqualFold(filepath.Ext(path), ".toml"):
	case isFile(path):
		return l, at, "", nil
	case isFile(filepath.Join(path, ledger.FileName)):
		return l, filepath.Join(path, ledger.FileName), "", nil
	case releaseIn(path) != path:
		path = releaseIn(path)
	default:
		return nil, "", "", errNoPlace
	}
	r, err := release.Load(path)
	if err != nil {
		return nil, "", "", err
	}
	return l, filepath.Join(r.Output.Folder, ledger.FileName), r.Folder, nil
}

func newVerifyList(at string, files []verify.File) *verifyList {
	l := &verifyList{Schema: verifySchema, Ledger: at, Files: append([]verify.File{}, files...)}
	for _, f := range files {
		switch f.State {
		case "":
			l.Unread++
		case verify.Present:
			l.Present++
		case verify.Altered:
			l.Altered++
		case verify.Missing:
			l.Missing++
		case verify.Foreign:
			l.Foreign++
		}
	}
	return l
}

func (v *verifyVerb) print(w io.Writer, l *verifyList) error {
	if v.JSON {
		return ledger.EncodeJSON(w, l)
	}
	return printFitted(w, l.print)
}

// print writes the list for people: what is not as it is recorded, and the totals.
func (l *verifyList) print(b *strings.Builder) {
	for _, f := range l.Files {
		if f.State != verify.Present && f.Err == nil {
			what := ""
			if f.What != "" {
				what = " (" + f.What + ")"
			}
			if f.Why != "" {
				what += ": " + f.Why
			}
			fmt.Fprintf(b, "%s: %s%s\n", f.State, f.File, what)
		}
	}
	fmt.Fprintf(b, "%s as recorded, %d altered, %d missing, %d foreign", many(l.Present, "file"), l.Altered,
		l.Missing, l.Foreign)
	if l.Unread > 0 {
		fmt.Fprintf(b, ", %d cannot be read", l.Unread)
	}
	b.WriteByte('\n')
}
