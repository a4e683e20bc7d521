package pipeline

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/page"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// faulty is a way of opening and making files that goes wrong with one track.
type faulty struct {
	track string
	read  func(stages.Block) error // instead of reading; nil: as usual
	// before each write to the master; what was removed is written by another lane
	write func() error
	done  func() error // before that file is put in its place
}

func (f faulty) files() files {
	return files{
		open: func(path string) (track.AudioFile, error) {
			s, err := onDisk.open(path)
			if err == nil && f.read != nil && strings.Contains(path, f.track) {
				return faultySource{s, f}, nil
			}
			return s, err
		},
		create: func(path string, info audiofile.Info, beside audiofile.Beside) (track.Sink, error) {
			s, err := onDisk.create(path, info, beside)
			if removed := filepath.Base(filepath.Dir(path)) == "removed"; err == nil && !removed &&
				strings.Contains(path, f.track) {
				return faultySink{s, f}, nil
			}
			return s, err
		},
	}
}

type faultySource struct {
	track.AudioFile
	f faulty
}

func (s faultySource) Read(b stages.Block) (int, error) {
	if err := s.f.read(b); err != nil {
		return 0, err
	}
	return s.AudioFile.Read(b)
}

type faultySink struct {
	track.Sink
	f faulty
}

func (s faultySink) Write(b stages.Block) error {
	if s.f.write != nil {
		if err := s.f.write(); err != nil {
			return err
		}
	}
	return s.Sink.Write(b)
}

func (s faultySink) Commit() error {
	if s.f.done != nil {
		if err := s.f.done(); err != nil {
			return err
		}
	}
	return s.Sink.Commit()
}

func TestAFailingTrackDoesNotStopTheOthers(t *testing.T) {
	full := &os.PathError{Op: "write", Path: "x", Err: syscall.ENOSPC}
	for _, c := range []struct {
		name string
		f    func(*desk) faulty
		want string // in the error, beside the track's name
	}{
		{"a read that fails", func(*desk) faulty {
			return faulty{read: func(stages.Block) error { return syscall.EIO }}
		}, "input/output error"},
		{"a full disk while writing", func(*desk) faulty {
			n := 0
			return faulty{write: func() error {
				if n++; n == 2 {
					return full
				}
				return nil
			}}
		}, "no space left on device"},
		{"a full disk at the end", func(*desk) faulty {
			return faulty{done: func() error { return full }}
		}, "no space left on device"},
		{"a panic", func(*desk) faulty {
			return faulty{write: func() error { panic("the sky fell") }}
		}, "internal error in writing: the sky fell"},
		{"a mix that goes away", func(d *desk) faulty {
			return faulty{read: func(stages.Block) error {
				return ignore(os.Remove(d.path("mixes/02 breakwater.wav")))
			}}
		}, "no such file"},
		{"a mix that changes", func(d *desk) faulty {
			n := 0
			d.block = 900
			return faulty{read: func(stages.Block) error {
				if n++; n == 5 { // the middle, which changes, has been read
					d.flip("mixes/02 breakwater.wav")
				}
				return nil
			}}
		}, "changed while it was being read"},
		{"a mix that is replaced", func(d *desk) faulty {
			return faulty{read: func(stages.Block) error {
				d.mix("mixes/02 breakwater.wav", brief(4577), tone(5))
				return nil
			}}
		}, "changed while it was being read"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := calmDesk(t)
			before := d.render(Options{})
			old := d.tree("masters")
			d.edit("gain_db = 4.0", "gain_db = 5.5")
			f := c.f(d)
			f.track = "02 breakwater"
			d.files = f.files()
			out, err := d.try(context.Background(), Options{Jobs: 2, Removed: true})
			d.must(err)
			if got := states(out); got != "01 quay rendered, 02 breakwater failed, 03 lantern rendered" {
				t.Fatalf("states: %s", got)
			}
			got := out.Results[1].Err.Error()
			if !strings.HasPrefix(got, "02 breakwater: ") || !strings.Contains(got, c.want) {
				t.Errorf("error %q, want the track and %q", got, c.want)
			}
			d.keptOld(old, "02 breakwater")
			if was, is := before.Ledger.Tracks[1], out.Ledger.Tracks[1]; was.Recipe != is.Recipe ||
				was.Output != is.Output {
				t.Errorf("its entry changed: %+v", is)
			}
		})
	}
}

// A mix whose stamp changes while it is read, and its content does not, is all right.
func TestAMixThatIsTouchedWhileItIsRead(t *testing.T) {
	d := calmDesk(t)
	d.files = faulty{track: "02 breakwater", read: func(stages.Block) error {
		now := time.Now()
		return ignore(os.Chtimes(d.path("mixes/02 breakwater.wav"), now, now))
	}}.files()
	d.render(Options{})
	d.files = onDisk
	if got := stateAndWhy(d.render(Options{})); got != "" {
		t.Errorf("not kept: %s", got)
	}
}

func ignore(error) error { return nil }

// keptOld fails the test unless a track's output is the old one, and nothing
// half written lies about.
func (d *desk) keptOld(old map[string]string, track string) {
	d.t.Helper()
	now := d.tree("masters")
	name := "masters/" + track + ".wav"
	if now[name] != old[name] {
		d.t.Errorf("%s is not the old one", name)
	}
	d.noLitter()
}

// noLitter fails the test if a file is to be found that a run only needs while
// it lasts.
func (d *desk) noLitter() {
	d.t.Helper()
	for name := range d.tree("masters") {
		if strings.HasPrefix(filepath.Base(name), ".") {
			d.t.Errorf("%s is left behind", name)
		}
	}
}

func TestCancelledRenderLeavesNothingHalfDone(t *testing.T) {
	for _, jobs := range []int{1, 2} {
		d := calmDesk(t)
		d.render(Options{})
		old := d.tree("masters")
		d.edit("gain_db = 4.0", "gain_db = 5.5")
		ctx, cancel := context.WithCancel(context.Background())
		reads := 0
		d.files = faulty{track: "02 breakwater", read: func(stages.Block) error {
			if reads++; reads == 2 {
				cancel()
			}
			return nil
		}}.files()
		out, err := d.try(ctx, Options{Jobs: jobs})
		if !errors.Is(err, context.Canceled) {
			t.Fatalf("%d jobs: %v, want that it was cancelled", jobs, err)
		}
		if got := out.Results[1]; got.State != Interrupted || got.Err != nil {
			t.Errorf("%d jobs: %+v, want interrupted", jobs, got)
		}
		d.keptOld(old, "02 breakwater")
		d.files = onDisk
		// What was done before is not done again.
		again := d.render(Options{})
		for i, r := range out.Results {
			if r.State == Rendered && again.Results[i].State != Kept {
				t.Errorf("%d jobs: %s was rendered twice", jobs, r.Track)
			}
		}
		d.sameFromScratch(Options{})
	}
}

func TestNonFiniteSamples(t *testing.T) {
	d := newDesk(t)
	d.write("release.toml", strings.Replace(quickChain, "pcm24", "float32", 1))
	info := audiofile.Info{Rate: 48000, Channels: 2, Frames: 24000, Encoding: audiofile.Float32}
	bad := tone(1)
	d.mix("mixes/bad.wav", info, func(c int, n int64) float64 {
		switch {
		case c == 1 && n == 12000:
			return math.NaN()
		case c == 0 && n == 12000+4096*2:
			return math.Inf(-1)
		}
		return bad(c, n)
	})
	d.mix("mixes/good.wav", info, tone(2))

	out, err := d.try(context.Background(), Options{})
	d.must(err)
	if got := states(out); got != "bad failed, good rendered" {
		t.Fatalf("states: %s", got)
	}
	for _, want := range []string{"bad: 2 samples", "0.25 s", "channel 2"} {
		if got := out.Results[0].Err.Error(); !strings.Contains(got, want) {
			t.Errorf("error %q lacks %q", got, want)
		}
	}
	d.noLitter()

	out = d.render(Options{AllowNonFinite: true})
	if w := out.Results[0].Warnings; len(w) != 1 || !strings.Contains(w[0], "bad: 2 samples") {
		t.Errorf("warnings: %q", w)
	}
	b := out.Ledger.Tracks[0].Boundaries
	if b[0].NonFiniteSamples != 2 || b[0].FirstNonFiniteTimeS == nil || *b[0].FirstNonFiniteTimeS != 0.25 {
		t.Errorf("boundary 0 has %d non-finite samples", b[0].NonFiniteSamples)
	}
	if b[1].NonFiniteSamples != 0 || b[3].NonFiniteSamples != 0 {
		t.Errorf("they went down the chain")
	}
	got := d.samples("masters/bad.wav")
	if got[1][12000] != 0 || got[0][12000+8192] != 0 || got[1][12001] == 0 {
		t.Errorf("want zeros in their places alone: %v %v %v", got[1][12000], got[0][12000+8192], got[1][12001])
	}

	// Allowing it once is not allowing it for ever.
	if out, _ := d.try(context.Background(), Options{}); states(out) != "bad failed, good kept" {
		t.Errorf("without permission: %s", states(out))
	}
	if got := states(d.render(Options{AllowNonFinite: true})); got != "bad kept, good kept" {
		t.Errorf("with permission again: %s", got)
	}
}

func TestLimitedSamplesAreWarnedOf(t *testing.T) {
	d := ferryDesk(t)
	d.edit("[[stage]]\nkind         = \"hard_clip\"\nname         = \"clip\"\nceiling_dbfs = -1.0\n", "")
	for _, state := range []string{"rendered", "kept"} {
		out := d.render(Options{})
		n := out.Ledger.Tracks[0].Output.LimitedSamples
		if n == 0 || out.Ledger.Totals.LimitedSamples < 3*n/2 {
			t.Fatalf("%d samples limited", n)
		}
		for _, r := range out.Results {
			if len(r.Warnings) != 1 || !strings.HasPrefix(r.Warnings[0], r.Track) ||
				!strings.Contains(r.Warnings[0], "limited") {
				t.Errorf("%s: warnings %q", state, r.Warnings)
			}
		}
	}
}

func TestAMixIsNeverWrittenOver(t *testing.T) {
	links := map[string]func(old, new string) error{"symbolic": os.Symlink, "hard": os.Link}
	for name, link := range links {
		for _, when := range []string{"before", "meanwhile"} {
			d := calmDesk(t)
			r, err := release.Load(d.path("release.toml"))
			d.must(err)
			d.must(os.MkdirAll(d.path("masters"), 0o777))
			mixes := d.tree("mixes")
			// The output of one track becomes a link to the mix of another.
			place := func() error { return link(d.path("mixes/01 quay.wav"), d.path("masters/03 lantern.wav")) }
			f := faulty{track: "03 lantern"}
			if when == "before" {
				d.must(place())
			} else {
				f.write = func() error { _ = place(); return nil }
			}
			out, err := renderWith(context.Background(), r, Options{}, f.files(), blockFrames)
			d.must(err)
			if got := states(out); got != "01 quay rendered, 02 breakwater rendered, 03 lantern failed" {
				t.Errorf("%s link %s: %s", name, when, got)
			} else if text := out.Results[2].Err.Error(); !strings.Contains(text, "01 quay.wav") ||
				!strings.Contains(text, "never written over") {
				t.Errorf("%s link %s: %q", name, when, text)
			}
			sameTree(t, name+" link "+when, d.tree("mixes"), mixes)
			d.noLitter()
		}
	}
}

func TestMixFolderAsOutputFolder(t *testing.T) {
	d := calmDesk(t)
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	d.must(os.Symlink(d.path("mixes"), d.path("masters"))) // after it was checked
	mixes := d.tree("mixes")
	out, err := RenderRelease(context.Background(), r, Options{})
	d.must(err)
	if out.Failed() != 3 {
		t.Errorf("states: %s", states(out))
	}
	now := d.tree("mixes")
	delete(now, "mixes/"+ledger.FileName)
	delete(now, "mixes/"+page.FileName)
	sameTree(t, "the mixes", now, mixes)
}

// Whatever a killed run leaves, the next one makes right.
func TestRenderAfterBeingKilled(t *testing.T) {
	long.Only(t, "TestWhatAKilledRunLeftIsRemoved and TestAKilledRunKeepsWhatItFinished have the same")
	d := calmDesk(t)
	d.render(Options{})
	for k := range long.Or(3, 8) {
		n := k * long.Or(3, 1)
		d.flip("mixes/01 quay.wav") // there and back again, so that there is something to do
		cmd := foldertest.OtherProcess(t, "LEDGERLINE_TEST_RENDER="+d.path("release.toml"))
		time.Sleep(time.Duration(5+8*n) * time.Millisecond)
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		d.render(Options{})
		d.noLitter()
		d.sameFromScratch(Options{})
	}
}

func TestWhatAKilledRunLeftIsRemoved(t *testing.T) {
	d := calmDesk(t)
	d.write("release.toml", pagedChain)
	d.render(Options{})
	stays := []string{
		"masters/.ledger.json.swp", "masters/.ledgerline-0123456789abcdef", "masters/ledger.json.part",
	}
	for _, name := range append(stays, "masters/.ledgerline-0123456789abcdef.part") {
		d.write(name, "half")
	}
	d.render(Options{})
	now := d.tree("masters")
	for _, name := range stays {
		if now[name] != "half" {
			t.Errorf("%s is none of ours, and gone", name)
		}
		delete(now, name)
	}
	if len(now) != 6 {
		t.Errorf("%d files, want three masters, the ledger, the record along them and the page", len(now))
	}
}

func TestALedgerThatCannotBeWritten(t *testing.T) {
	d := calmDesk(t)
	d.files = faulty{track: "03 lantern", done: func() error {
		return os.MkdirAll(d.path("masters/"+ledger.FileName+"/in the way"), 0o777)
	}}.files()
	out, err := d.try(t.Context(), Options{Jobs: 1})
	if err == nil || !strings.Contains(err.Error(), ledger.FileName) {
		t.Fatalf("got %v, want an error that names the ledger", err)
	}
	if got := states(out); strings.Count(got, "rendered") != 3 {
		t.Errorf("states: %s", got)
	}
	d.must(os.RemoveAll(d.path("masters/" + ledger.FileName)))
	d.files = onDisk
	// What it had rendered is in its journal.
	if got := stateAndWhy(d.render(Options{})); got != "" {
		t.Errorf("not kept: %s", got)
	}
	d.noLitter()
	d.sameFromScratch(Options{})
}
