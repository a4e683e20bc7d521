package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"

	"ledgerline/pipeline/release"
)

type newVerb struct {
	Folder string `arg:"" optional:"" default:"." name:"FOLDER" files:"/" help:"The folder; default: the current one."`
}

func (*newVerb) help() verbHelp {
	return verbHelp{
		about: `Writes a release file to start from, release.toml, with comments and a chain
that renders as it is, and makes the folder mixes/ beside it. An existing
release file is not replaced.`,
		example: "ledgerline new",
		exits: []exit{
			{exitDone, "written"},
			{exitFailed, "there is a release file already, or it cannot be written"},
			{exitUsage, "the command line is wrong"},
		},
	}
}

func (v *newVerb) run(_ context.Context, s *streams) error {
	path := filepath.Join(v.Folder, release.Name)
	if err := release.Start(v.Folder); errors.Is(err, fs.ErrExist) {
		return &failure{code: exitFailed, hint: "ledgerline new FOLDER starts a release in another folder",
			err: fmt.Errorf("new: %s is there already; it stays as it is", path)}
	} else if err != nil {
		return err
	}
	argument := ""
	if filepath.Clean(v.Folder) != "." {
		argument = " " + shellWord(path)
	}
	_, err := fmt.Fprintf(s.out, "%s is written. Put your mixes, as WAV files, into %s.\n"+
		"Then ledgerline check%s shows the plan, and ledgerline render%s renders it.\n",
		path, filepath.Join(v.Folder, "mixes")+string(filepath.Separator), argument, argument)
	return err
}

// shellWord is a text quoted as one word for a shell.
func shellWord(text string) string {
	if !strings.ContainsFunc(text, func(r rune) bool {
		return strings.ContainsRune(" \t\n'\"\\$`!*?[]{}()<>|&;~#", r)
	}) {
		return text
	}
	return "'" + strings.ReplaceAll(text, "'", `'\''`) + "'"
}
