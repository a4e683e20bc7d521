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
	Variant  []string `placeholder:"NAME" sep:"none" help:"Of variants and deliveries, only this one; may be repeated."`
	Delivery []string `placeholder:"NAME" sep:"none" help:"Of variants and deliveries, only this one; may be repeated."`

	RunCoders bool `help:"Also play deliveries as they come back from their coders."`
}

func (*listenVerb) help() verbHelp {
	return verbHelp{
		about: `Serves a page on this machine alone, which plays the mix and its masters at one
loudness and switches between them without a gap, openly or in blind trials.
Prints the page's address and opens nothing. What a trial finds is kept in
listening/ beside the release file. Ctrl-C ends it.`,
		example: "ledgerline listen examples/night-ferry/release.toml",
		exits: []exit{
			{exitFailed, "the page could not be served"},
			{
				exitUsage, "the command line, the release file or the ledger is wrong,\n" +
					"or nothing is rendered",
			},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP): the usual end"},
		},
	}
}

func (v *listenVerb) run(ctx context.Context, s *streams) error {
	rel, err := s.load(v.Release, true)
	if err != nil {
		return err
	}
	o := s.heard(rel, v.Track, v.Variant, v.Delivery)
	o.RunCoders = v.RunCoders
	room, err := listen.Open(rel, o)
	if errors.Is(err, listen.ErrNothing) {
		return wrongUsage("ledgerline render "+v.Release, "listen: %v", err)
	}
	if err != nil {
		return s.stopped(nil, err)
	}
	l, err := local()
	if err != nil {
		room.Close()
		return err
	}
	server := listen.NewServer(room, l.Addr())
	defer server.Close()
	fmt.Fprintf(s.out, "%s\n%s\n", server.Address(), startLow)
	return server.Serve(ctx, l)
}

// startLow is said with every address.
const startLow = "Start low. The address works on this machine until Ctrl-C, for whoever has it."

// local is a port that no other machine can reach.
func local() (net.Listener, error) { return net.Listen("tcp", "127.0.0.1:0") }

// heard is what is to be heard of a release.
func (s *streams) heard(rel *release.Release, tracks, variants, deliveries []string) listen.Options {
	return listen.Options{
		Tool: tool, Tracks: tracks, Variants: variants, Deliveries: deliveries, Recorded: func() { s.redraw(rel) },
	}
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
