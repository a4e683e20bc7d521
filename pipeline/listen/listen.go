// Package listen lets a release be heard: it serves a page on this machine alone, on which the mix of a track
// and what was rendered from it are switched without a gap at one loudness, openly or in blind trials.
//
// What is played is made on the fly from the files, which are only read: blocks of float32 samples of all
// sources, frame n of each at the same place, turned down to the loudness of the quietest. Nothing is turned
// up. A file is read by the handle through which it was hashed, so that what is heard is what a trial
// records, whatever a render does meanwhile. No path comes from the browser: it asks by number.
package listen

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	mathrand "math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"time"

	"ledgerline/pipeline"
	"ledgerline/pipeline/along"
	"ledgerline/pipeline/coder"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// Options say what is to be heard.
type Options struct {
	Tool   string   // name and version of the program, for records
	Tracks []string // only these; none: all

	// Only these beside the mix and the release's own chain; both empty: all.
	Variants, Deliveries []string

	// deliveries are also heard as they come back from their coders, which are programs of the release file
	RunCoders bool

	Recorded func() // called when a session was recorded; nil: nothing is

	Now  func() time.Time // nil: the clock
	Pick func(n int) int  // any of 0 to n-1, each as often as another; nil: a generator started by the system's
}

// Room is a release that can be heard. Close it.
type Room struct {
	options Options
	title   string
	folder  string // of the release
	scratch string // for files at another rate
	number  int    // among those of a server, from 1
	tracks  []*track
}

// ErrNothing is the error of a release of which nothing is rendered.
var ErrNothing = errors.New("nothing is rendered yet: render it first")

// Open finds what there is to hear of a release: its mixes and the masters that are there. Files are opened
// when their track is first asked for.
func Open(rel *release.Release, o Options) (*Room, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Pick == nil {
		var seed [32]byte
		_, _ = rand.Read(seed[:]) // never fails
		o.Pick = mathrand.New(mathrand.NewChaCha8(seed)).IntN
	}
	if err := o.known(rel); err != nil {
		return nil, err
	}
	at := filepath.Join(rel.Output.Folder, ledger.FileName)
	l, err := ledger.Read(at)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNothing
	}
	if err != nil {
		return nil, err
	}
	store, err := along.Read(along.Beside(at))
	if err != nil {
		return nil, err
	}
	r := &Room{options: o, title: rel.Title, folder: rel.Folder}
	for i := range rel.Renders {
		r.add(&rel.Renders[i], l, store)
	}
	r.tracks = slices.DeleteFunc(r.tracks, func(t *track) bool { return len(t.sources) < 2 })
	if len(r.tracks) == 0 {
		return nil, ErrNothing
	}
	if r.scratch, err = os.MkdirTemp("", "ledgerline-listen-"); err != nil {
		return nil, err
	}
	bench := coder.NewBench(rel.Folder, r.scratch)
	for _, t := range r.tracks {
		t.bench = bench
	}
	return r, nil
}

// known says whether the release has what is asked for.
func (o *Options) known(rel *release.Release) error {
	has := map[string][]string{}
	for i := range rel.Renders {
		r := &rel.Renders[i]
		has["track"], has["variant"], has["delivery"] = append(has["track"], r.Track),
			append(has["variant"], r.Variant), append(has["delivery"], r.Delivery)
	}
	for _, of := range []struct {
		what  string
		names []string
	}{{"track", o.Tracks}, {"variant", o.Variants}, {"delivery", o.Deliveries}} {
		for _, name := range of.names {
			if !slices.Contains(has[of.what], name) {
				near, _ := release.Nearest(name, has[of.what])
				return &pipeline.ChoiceError{What: of.what, Name: name, Nearest: near}
			}
		}
	}
	return nil
}

// wants says whether a render is asked for.
func (o *Options) wants(r *release.Render) bool {
	switch {
	case len(o.Variants)+len(o.Deliveries) == 0, r.Version() == "":
		return true
	case r.Delivery != "":
		return slices.Contains(o.Deliveries, r.Delivery)
	}
	return slices.Contains(o.Variants, r.Variant)
}

// add adds a render that was asked for, if it is there.
func (r *Room) add(render *release.Render, l *ledger.Ledger, store along.Store) {
	if len(r.options.Tracks) > 0 && !slices.Contains(r.options.Tracks, render.Track) {
		return
	}
	t := r.track(render)
	entry := entryOf(l, render)
	if entry != nil && len(entry.Boundaries) > 0 {
		t.sources[0].was, t.sources[0].recorded = entry.Boundaries[0].LoudnessLUFS, entry.Source.SHA256
	}
	if !r.options.wants(render) || !isFile(render.Output) {
		return
	}
	s := newRender(render, r.folder)
	if entry != nil {
		if n := len(entry.Boundaries); n > 0 {
			s.was, s.recorded = entry.Boundaries[n-1].LoudnessLUFS, entry.Output.SHA256
		}
		s.lead = entry.Output.LeadFrames
		t.moments = append(t.moments, momentsOf(entry)...)
		if t.peaks == nil {
			if record, err := store.Record(entry.Along); err == nil && record != nil {
				t.peaks = record.PeakOut
			}
		}
	}
	t.sources = append(t.sources, s)
	if r.options.RunCoders {
		for i := range render.Coders {
			t.sources = append(t.sources, newCoded(s, &render.Coders[i]))
		}
	}
}

// track is the one of a render, with its mix.
func (r *Room) track(render *release.Render) *track {
	for _, t := range r.tracks {
		if t.name == render.Track {
			return t
		}
	}
	t := &track{name: render.Track, sources: []*source{newMix(render, r.folder)}}
	r.tracks = append(r.tracks, t)
	return t
}

// Close closes the files and removes what is temporary.
func (r *Room) Close() {
	for _, t := range r.tracks {
		t.close()
	}
	_ = os.RemoveAll(r.scratch)
}

// ready has the track of a number ready to be heard: opened, hashed, matched. It does so once.
func (r *Room) ready(ctx context.Context, number int) (*track, error) {
	if r == nil || number < 0 || number >= len(r.tracks) {
		return nil, errNone
	}
	t := r.tracks[number]
	if err := t.prepare(ctx, r.scratch); err != nil {
		return nil, fmt.Errorf("%s: %w", t.name, err)
	}
	return t, nil
}

// find is the number of the track of a name; -1: there is none.
func (r *Room) find(name string) int {
	return slices.IndexFunc(r.tracks, func(t *track) bool { return t.name == name })
}

func entryOf(l *ledger.Ledger, render *release.Render) *ledger.Track {
	for i := range l.Tracks {
		if t := &l.Tracks[i]; t.Name == render.Track && t.Variant == render.Variant &&
			t.Delivery == render.Delivery {
			return t
		}
	}
	return nil
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}
