package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"path/filepath"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/listen"
	"ledgerline/pipeline/page"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/trial"
)

type listenVerb struct {
	Release  string   `arg:"" optional:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file or folder; default: ${release} in this folder."`
	Track    []string `placeholder:"NAME" sep:"none" help:"Only this track; may be repeated."`
	Variant  []string `placeholder:"NAME" sep:"none" help:"Of variants and deliveries only this one; may be repeated."`
	Delivery []string `placeholder:"NAME" sep:"none" help:"Of variants and deliveries only this one; may be repeated."`
}

func (*listenVerb) help() verbHelp {
	return verbHelp{
		about: `Serves a page on this machine alone: the mix and its masters, switched without
a gap at one loudness, openly or in blind trials. Prints the page's address and
opens nothing. What a trial finds is kept in listening/ beside the release
file. Ctrl-C ends it.`,
		example: "ledgerline listen examples/night-ferry/release.toml",
		exits: []exit{
			{exitFailed, "the page could not be served"},
			{exitUsage, "the command line or the release file is wrong, or nothing is rendered"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP): the usual end"},
		},
	}
}

func (v *listenVerb) run(ctx context.Context, s *streams) error {
	rel, err := s.load(v.Release, true)
	if err != nil {
		return err
	}
	room, err := listen.Open(rel, listen.Options{
		Recorded: func() { s.redraw(rel) },
		Tool:     tool, Tracks: v.Track, Variants: v.Variant, Deliveries: v.Delivery,
	})
	if errors.Is(err, listen.ErrNothing) {
		return wrongUsage("ledgerline render "+v.Release, "listen: %v", err)
	}
	if err != nil {
		return s.stopped(nil, err)
	}
	defer room.Close()
	l, err := net.Listen("tcp", "127.0.0.1:0") // no other machine can reach it
	if err != nil {
		return err
	}
	server := listen.NewServer(room, l.Addr())
	fmt.Fprintf(s.out, "%s\nStart low. The address works on this machine until Ctrl-C, for whoever has it.\n", server.Address())
	return server.Serve(ctx, l)
}

// redraw draws the page of a release again, if it has one, so that it tells of a trial.
func (s *streams) redraw(rel *release.Release) {
	at := filepath.Join(rel.Output.Folder, ledger.FileName)
	to := filepath.Join(rel.Output.Folder, page.FileName)
	if !rel.Output.Page || !isFile(to) {
		return
	}
	l, err := ledger.Read(at)
	if err == nil {
		var records []*along.Record
		if records, err = alongOf(at, l); err == nil {
			trials, _ := trial.Read(rel.Folder)
			err = writePage(to, page.Content{Ledger: l, Records: records, Trials: trials})
		}
	}
	if err != nil {
		s.note([]string{fmt.Sprintf("the trial is recorded, but the page is not drawn again: %v", err)})
	}
}
