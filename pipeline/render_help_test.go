package pipeline

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// tester is what a desk needs of a test, be it a plain one or a property.
type tester interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
	Errorf(string, ...any)
}

// A desk is a folder with a release in it, for one test.
type desk struct {
	t      tester
	folder string
	files  files
	block  int // frames read at once
}

func newDesk(t testing.TB) *desk {
	return &desk{t: t, folder: t.TempDir(), files: onDisk, block: blockFrames}
}

func (d *desk) path(name string) string { return filepath.Join(d.folder, filepath.FromSlash(name)) }

// must fails the test on an error.
func (d *desk) must(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

// write writes a text file.
func (d *desk) write(name, text string) {
	d.t.Helper()
	d.must(os.MkdirAll(filepath.Dir(d.path(name)), 0o777))
	d.must(os.WriteFile(d.path(name), []byte(text), 0o666))
}

// read is the content of a file.
func (d *desk) read(name string) string {
	d.t.Helper()
	text, err := os.ReadFile(d.path(name))
	d.must(err)
	return string(text)
}

// mix writes a mix of that many frames of the tune.
func (d *desk) mix(name string, info audiofile.Info, tune func(channel int, frame int64) float64) {
	d.t.Helper()
	d.must(mixtest.Write(d.path(name), info, tune))
}

// stereo is the form of most test mixes.
func stereo(frames int64) audiofile.Info {
	return audiofile.Info{Rate: 44100, Channels: 2, Frames: frames, Encoding: audiofile.PCM24}
}

// tone is a tune: a tone of its own in each channel, with a slow swell, within full scale.
func tone(seed int) func(int, int64) float64 {
	return func(c int, n int64) float64 {
		w := 2 * math.Pi * (180 + 55*float64(seed) + 23*float64(c)) / 44100
		return 0.9 * math.Sin(w*float64(n)) * (0.6 + 0.4*math.Sin(w*float64(n)/97))
	}
}

// quickChain is a release file of stages that take no time, without a page and without what can be heard.
const quickChain = `
title        = "Night Ferry"
sources      = ["mixes/*.wav"]
ceiling_dbfs = -1.0
audibility   = { measure = false }

[output]
folder   = "masters"
encoding = "pcm24"
page     = false
` + quickStages

// pagedChain is the same with a page.
var pagedChain = strings.Replace(quickChain, "page     = false\n", "", 1)

// drawnChain is the same with both.
const drawnChain = `
title        = "Night Ferry"
sources      = ["mixes/*.wav"]
ceiling_dbfs = -1.0

[output]
folder   = "masters"
encoding = "pcm24"
` + quickStages

const quickStages = `
[[stage]]
kind    = "gain"
name    = "drive"
gain_db = 4.0

[[stage]]
kind         = "hard_clip"
name         = "clip"
ceiling_dbfs = -1.0

[[stage]]
kind                 = "measure"
name                 = "delivery"
sample_peak_max_dbfs = -1.0
`

// brief is the form of the mixes of most tests of what is rendered and what is kept: at the lowest rate the
// frames of half a second are few, and in a quick run there is one channel.
func brief(frames int64) audiofile.Info {
	return audiofile.Info{Rate: 8000, Channels: long.Or(1, 2), Frames: frames, Encoding: audiofile.PCM24}
}

// narrow is the form of stereo with one channel in a quick run, for what is the same for any channels.
func narrow(frames int64) audiofile.Info {
	info := stereo(frames)
	info.Channels = long.Or(1, 2)
	return info
}

// ferryDesk is a desk with three short mixes at the lowest rate, long enough to have a loudness, and the
// quick chain.
func ferryDesk(t testing.TB) *desk { return ferryDeskOf(t, brief, 4000, 4577, 4096) }

// calmDesk is the same for tests of what is rendered and kept, and not of what a chain does: in a quick run
// nothing in its mixes is clipped, nor cut off at an end, so that meters have the least to look for.
func calmDesk(t testing.TB) *desk {
	if long.Wanted() {
		return ferryDesk(t)
	}
	return ferryDeskWith(t, brief, calm, 4000, 4577, 4096)
}

// calm is a tune of that many frames at less than half its level, faded in and out.
func calm(f func(int, int64) float64, frames int64) func(int, int64) float64 {
	return func(c int, n int64) float64 {
		t := min(1, float64(min(n, frames-1-n))/400)
		return 0.45 * f(c, n) * (0.5 - 0.5*math.Cos(math.Pi*t))
	}
}

// ferryDesk44 is ferryDesk at the rate of an audio disc.
func ferryDesk44(t testing.TB) *desk { return ferryDeskOf(t, stereo, 20000, 24577, 20480) }

func ferryDeskOf(t testing.TB, info func(int64) audiofile.Info, frames ...int64) *desk {
	as := func(f tune, _ int64) tune { return f }
	return ferryDeskWith(t, info, as, frames...)
}

// A tune is a sample of a channel at a frame.
type tune = func(channel int, frame int64) float64

// ferryMixes are the files of mixes of such desks, which most tests begin with.
var ferryMixes = map[string]string{}

// ferryDeskWith makes something of the tune of each mix.
func ferryDeskWith(t testing.TB, info func(int64) audiofile.Info, of func(tune, int64) tune,
	frames ...int64) *desk {
	d := newDesk(t)
	d.write("release.toml", quickChain)
	for i, n := range frames {
		name, made := "mixes/"+ferryTracks[i]+".wav", of(tone(i+1), n)
		key := fmt.Sprint(info(n), made(0, n/2), made(0, n-1))
		if text, ok := ferryMixes[key]; ok {
			d.write(name, text)
			continue
		}
		d.mix(name, info(n), made)
		ferryMixes[key] = d.read(name)
	}
	return d
}

// example is the release file of the example, without its deliveries.
func example(t tester) string {
	t.Helper()
	text, err := os.ReadFile("../examples/night-ferry/release.toml")
	if err != nil {
		t.Fatal(err)
	}
	return foldertest.WithoutDeliveries(string(text))
}

// edit replaces text in the release file.
func (d *desk) edit(old, new string) {
	d.t.Helper()
	text, err := os.ReadFile(d.path("release.toml"))
	d.must(err)
	if !strings.Contains(string(text), old) {
		d.t.Fatalf("the release file has no %q", old)
	}
	d.write("release.toml", strings.Replace(string(text), old, new, 1))
}

// try renders the release file.
func (d *desk) try(ctx context.Context, o Options) (*Outcome, error) {
	d.t.Helper()
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	if o.Tool == "" {
		o.Tool = "ledgerline test"
	}
	return renderWith(ctx, r, o, d.files, d.block)
}

// render renders the release file, where nothing is expected to fail.
func (d *desk) render(o Options) *Outcome {
	d.t.Helper()
	out, err := d.try(context.Background(), o)
	d.must(err)
	for _, r := range out.Results {
		d.must(r.Err)
	}
	return out
}

// states are the states of an outcome's results, by track and variant.
func states(out *Outcome) string {
	var s []string
	for _, r := range out.Results {
		name := r.Track
		if r.Variant != "" {
			name += "/" + r.Variant
		}
		s = append(s, fmt.Sprintf("%s %s", name, r.State))
	}
	return strings.Join(s, ", ")
}

// tree is the content of every file in a folder by its name, but for what
// holds times or depends on them.
func (d *desk) tree(folder string) map[string]string {
	d.t.Helper()
	all := map[string]string{}
	d.must(filepath.WalkDir(d.path(folder), func(path string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() || e.Name() == fresh.StateName || e.Name() == fresh.BriefName {
			return err
		}
		text, err := os.ReadFile(path)
		rel, _ := filepath.Rel(d.folder, path)
		all[filepath.ToSlash(rel)] = string(text)
		return err
	}))
	return all
}

// sameTree fails the test where two folders differ.
func sameTree(t tester, what string, got, want map[string]string) {
	t.Helper()
	if maps.Equal(got, want) {
		return
	}
	for name, text := range want {
		if other, ok := got[name]; !ok {
			t.Errorf("%s: %s is missing", what, name)
		} else if other != text {
			t.Errorf("%s: %s differs at byte %d", what, name, firstDifference(other, text))
		}
	}
	for name := range got {
		if _, ok := want[name]; !ok {
			t.Errorf("%s: %s is one too many", what, name)
		}
	}
}

func firstDifference(a, b string) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	return min(len(a), len(b))
}

// samples reads a whole audio file.
func (d *desk) samples(name string) stages.Block {
	d.t.Helper()
	r, err := audiofile.Open(d.path(name))
	d.must(err)
	defer r.Close()
	b := stages.NewBlock(r.Info().Channels, int(r.Info().Frames))
	if n, err := r.Read(b); n != b.Frames() || err != nil && err != io.EOF {
		d.t.Fatalf("%s: read %d frames of %d: %v", name, n, b.Frames(), err)
	}
	return b
}

// flip changes one byte in the middle of a file and nothing else that shows.
func (d *desk) flip(name string) {
	d.t.Helper()
	info, err := os.Stat(d.path(name))
	d.must(err)
	text, err := os.ReadFile(d.path(name))
	d.must(err)
	text = bytes.Clone(text)
	text[len(text)/2] ^= 1
	d.must(os.WriteFile(d.path(name), text, 0o666))
	d.must(os.Chtimes(d.path(name), info.ModTime(), info.ModTime()))
}
