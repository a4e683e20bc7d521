package watch

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerline/pipeline"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/ledger"
)

// quick is the patience of the tests. Waits that fail end late, so that a slow machine
// changes no result.
var quick = patience{
	gather: 2 * time.Millisecond, settle: 40 * time.Millisecond, giveUp: 20 * time.Second,
	look: 100 * time.Millisecond,
}

const releaseText = `sources = ["mixes/*.wav"]
[output]
encoding = "float32"
[[stage]]
kind    = "gain"
gain_db = %s
`

// scene is a release in a folder of its own, watched.
type scene struct {
	t      *testing.T
	folder string
	events chan Event
	stop   func()   // ends the watch
	all    []string // every event so far

	unexpected []string // of that, what no expect has found
}

func newScene(t *testing.T) *scene {
	s := &scene{t: t, folder: t.TempDir(), events: make(chan Event, 1000)}
	s.write("release.toml", fmt.Sprintf(releaseText, "-6.0"))
	s.mix("quay", 0.5)
	s.mix("lantern", 0.25)
	return s
}

// watch begins to watch.
func (s *scene) watch(p patience, o pipeline.Options) {
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() {
		ended <- follow(ctx, s.path("release.toml"), o, func(e Event) { s.events <- e }, p)
	}()
	s.stop = sync.OnceFunc(func() {
		stop()
		if err := <-ended; !errors.Is(err, context.Canceled) {
			s.t.Errorf("the watch ended with %v", err)
		}
	})
	s.t.Cleanup(func() {
		s.stop()
		if s.t.Failed() {
			s.t.Logf("events:\n%s", strings.Join(s.all, "\n"))
		}
	})
}

func (s *scene) path(name string) string { return filepath.Join(s.folder, filepath.FromSlash(name)) }

func (s *scene) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

func (s *scene) write(name, text string) {
	s.t.Helper()
	s.must(os.MkdirAll(filepath.Dir(s.path(name)), 0o777))
	s.must(os.WriteFile(s.path(name), []byte(text), 0o666))
}

// mix makes a mix; the same level makes the same bytes.
func (s *scene) mix(name string, level float64) {
	s.t.Helper()
	s.must(makeMix(s.path("mixes/"+name+".wav"), level))
}

func makeMix(path string, level float64) error {
	info := audiofile.Info{Rate: 8000, Channels: 1, Encoding: audiofile.PCM24, Frames: 4000}
	return mixtest.Write(path, info, func(_ int, n int64) float64 { return level * math.Sin(float64(n)*0.3) })
}

// bytes are those of a mix of a level.
func (s *scene) bytes(level float64) []byte {
	s.t.Helper()
	path := filepath.Join(s.t.TempDir(), "mix.wav")
	s.must(makeMix(path, level))
	return []byte(foldertest.Text(s.t, path))
}

// expect waits for an event that has the text in it, in any order; each event is expected
// once. The deadline is for a failing test only.
func (s *scene) expect(text string) {
	s.t.Helper()
	deadline := time.After(20 * time.Second)
	for {
		for i, e := range s.unexpected {
			if strings.Contains(e, text) {
				s.unexpected = slices.Delete(s.unexpected, i, i+1)
				return
			}
		}
		select {
		case e := <-s.events:
			s.all = append(s.all, e.Text)
			s.unexpected = append(s.unexpected, e.Text)
		case <-deadline:
			s.t.Fatalf("no event has %q", text)
		}
	}
}

// count is how many events so far have the text.
func (s *scene) count(text string) int {
	for len(s.events) > 0 {
		s.all = append(s.all, (<-s.events).Text)
	}
	n := 0
	for _, line := range s.all {
		if strings.Contains(line, text) {
			n++
		}
	}
	return n
}

// expectPeak waits until the ledger, which is written when a run is at its end,
// has a sample peak for a master. These signals' samples miss the crests of their
// sines by less than 0.01 dB.
func (s *scene) expectPeak(track string, want float64) {
	s.t.Helper()
	found := math.NaN()
	for range 1000 {
		if l, err := ledger.Read(s.path("masters/ledger.json")); err == nil {
			for _, t := range l.Tracks {
				if t.Name == track {
					found = *t.Boundaries[len(t.Boundaries)-1].SamplePeakDBFS
				}
			}
		}
		if math.Abs(found-want) < 0.01 {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	s.t.Fatalf("%s has a peak of %.4f dBFS, want %.4f", track, found, want)
}

// savings are the ways in which programs save a file.
var savings = map[string]func(path string, text []byte) error{
	"in place": func(path string, text []byte) error {
		return os.WriteFile(path, text, 0o666)
	},
	"in place, the times kept": func(path string, text []byte) error {
		info, err := os.Stat(path)
		if err != nil {
			return err
		}
		if err := os.WriteFile(path, append(text, '\n'), 0o666); err != nil {
			return err
		}
		return os.Chtimes(path, info.ModTime(), info.ModTime())
	},
	"temporary file and rename": func(path string, text []byte) error {
		if err := os.WriteFile(path+".tmp", text, 0o666); err != nil {
			return err
		}
		return os.Rename(path+".tmp", path)
	},
	"old file moved away and a new one made": func(path string, text []byte) error {
		if err := os.Rename(path, path+"~"); err != nil {
			return err
		}
		if err := os.WriteFile(path, text, 0o666); err != nil {
			return err
		}
		return os.Remove(path + "~")
	},
	"deleted, then made": func(path string, text []byte) error {
		if err := os.Remove(path); err != nil {
			return err
		}
		time.Sleep(5 * time.Millisecond)
		return os.WriteFile(path, text, 0o666)
	},
	"many small writes": func(path string, text []byte) error {
		f, err := os.Create(path)
		if err != nil {
			return err
		}
		defer f.Close()
		for len(text) > 0 {
			n := min(len(text), 1000)
			if _, err := f.Write(text[:n]); err != nil {
				return err
			}
			text = text[n:]
			time.Sleep(time.Millisecond)
		}
		return nil
	},
}

// hurdle holds up the first render until it is let go.
type hurdle struct {
	once    sync.Once
	reached chan struct{}
	gone    chan struct{}
	letGo   func()
}

func newHurdle() *hurdle {
	h := &hurdle{reached: make(chan struct{}), gone: make(chan struct{})}
	h.letGo = sync.OnceFunc(func() { close(h.gone) })
	return h
}

func (h *hurdle) hear(e pipeline.Event) {
	if e.Step == pipeline.Begun {
		h.once.Do(func() {
			close(h.reached)
			<-h.gone
		})
	}
}
