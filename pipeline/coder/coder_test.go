package coder

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/coder/codertest"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

func TestMain(m *testing.M) {
	if codertest.Asked() {
		codertest.Main()
		return
	}
	os.Exit(m.Run())
}

// form is that of the delivery in tests.
var form = audiofile.Info{Rate: 44100, Channels: 2, Frames: 100000, Encoding: audiofile.PCM24}

// peakFrame is where the delivery of tests is highest, in its second channel, and peak how high it is there.
const (
	peakFrame = 61234
	peak      = 0.75
)

// programme swells, and has its peak where a wide pulse lies.
func programme(c int, n int64) float64 {
	x := float64(n) / 44100
	v := 0.3 * (0.4 + 0.6*math.Sin(2*math.Pi*0.31*x)) * math.Sin(2*math.Pi*(150+40*float64(c))*x*(1+0.2*x))
	if c == 1 {
		d := float64(n-peakFrame) / 12
		return v*(1-math.Exp(-d*d/400)) + peak*math.Exp(-d*d)
	}
	return v
}

// programmes are the channels of it, which most tests write.
var programmes = sync.OnceValue(func() stages.Block {
	b := stages.NewBlock(form.Channels, int(form.Frames))
	for c := range b {
		for n := range b[c] {
			b[c][n] = programme(c, int64(n))
		}
	}
	return b
})

// delivery writes the delivery of tests.
func delivery(t *testing.T, name string) (b *Bench, file string) {
	t.Helper()
	folder := t.TempDir()
	file = filepath.Join(folder, name)
	if err := mixtest.Write(file, form, func(c int, n int64) float64 { return programmes()[c][n] }); err != nil {
		t.Fatal(err)
	}
	scratch := filepath.Join(folder, "masters")
	if err := os.Mkdir(scratch, 0o777); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if names := foldertest.Names(t, scratch); len(names) > 0 {
			t.Errorf("it leaves %q", names)
		}
	})
	return NewBench(folder, scratch), file
}

// through is a coder of the tests: its encoder copies.
func through(way string, args ...string) release.Coder {
	return release.Coder{
		Name: "test", At: "release.toml:41", TimeLimitS: 60,
		Encode: codertest.Program("copy", "{in}", "{out}.bin"),
		Decode: codertest.Program(way, append(args, "{out}.bin", "{back}")...),
	}
}

func mustRun(t *testing.T, b *Bench, file string, c release.Coder) Found {
	t.Helper()
	f, err := b.Run(context.Background(), file, c)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// What comes back is read where it is, however it is shifted: the figures follow from the signal.
func TestWhatComesBack(t *testing.T) {
	codertest.Use(t, codertest.Version)
	for _, c := range []struct {
		what, name string
		coder      release.Coder
		by         float64
		delay      int64
	}{
		{"a copy", "quay.wav", through("copy"), 1, 0},
		{"a copy of FLAC", "quay.flac", through("copy"), 1, 0},
		{"scaled", "quay.wav", through("scale", "1.1"), 1.1, 0},
		{"delayed", "quay.wav", through("delay", "1105"), 1, 1105},
		{"less at its start", "quay.wav", through("delay", "-331"), 1, -331},
		{"less at its end", "quay.wav", through("short", "500"), 1, 0},
		{"grown where it is high", "quay.wav", through("over", "1.3", "0.7"), 1.3, 0},
		{"the copy written over", "quay.wav", through("touch"), 1, 0},
	} {
		t.Run(c.what, func(t *testing.T) {
			b, file := delivery(t, c.name)
			before := foldertest.Text(t, file)
			f := mustRun(t, b, file, c.coder)
			if foldertest.Text(t, file) != before {
				t.Error("the delivery's own file was touched")
			}
			if f.DelayFrames != c.delay {
				t.Errorf("delayed by %d frames, want %d", f.DelayFrames, c.delay)
			}
			const rounding = 1.0 / (1 << 23)
			if want := peak * c.by; math.Abs(f.SamplePeak-want) > 2*rounding || f.TruePeak < f.SamplePeak ||
				c.by == 1 && f.TruePeak > want+1e-4 {
				t.Errorf("peaks %v and %v, want %v", f.SamplePeak, f.TruePeak, want)
			}
			if f.SampleFrame != peakFrame || f.SampleChannel != 1 || math.Abs(f.TrueFrame-peakFrame) > 13 ||
				f.TrueChannel != 1 {
				t.Errorf("the sample peak is at %d in channel %d, the true peak at %v in channel %d, want %d in 1",
					f.SampleFrame, f.SampleChannel, f.TrueFrame, f.TrueChannel, peakFrame)
			}
			if want := []string{codertest.Version, codertest.Version}; !slices.Equal(f.Versions, want) {
				t.Errorf("versions %q, want %q", f.Versions, want)
			}
		})
	}
}

// A tone has as many shifts that fit as it has periods; a tone that is not shifted is not taken for one that
// is.
func TestAToneIsNotShifted(t *testing.T) {
	codertest.Use(t, codertest.Version)
	b, file := delivery(t, "quay.wav")
	if err := mixtest.Write(file, form, func(_ int, n int64) float64 {
		return 0.5 * math.Sin(2*math.Pi*441*float64(n)/44100)
	}); err != nil {
		t.Fatal(err)
	}
	if f := mustRun(t, b, file, through("copy")); f.DelayFrames != 0 {
		t.Errorf("it is taken for delayed by %d frames", f.DelayFrames)
	}
}

func TestSilenceComesBack(t *testing.T) {
	codertest.Use(t, codertest.Version)
	b, file := delivery(t, "quay.wav")
	if err := mixtest.Write(file, form, func(int, int64) float64 { return 0 }); err != nil {
		t.Fatal(err)
	}
	if f := mustRun(t, b, file, through("copy")); f.SamplePeak != 0 || f.TruePeak != 0 || f.SampleFrame != -1 ||
		f.TrueChannel != -1 {
		t.Errorf("found %+v", f)
	}
}

// The place of a peak between samples: a tone at a quarter of the rate whose samples lie 45 degrees off its
// peaks.
func TestThePlaceOfATruePeak(t *testing.T) {
	p := newPlace(2, 0.9)
	b := make([][]float64, 2)
	for c := range b {
		b[c] = make([]float64, 4000)
		for n := range b[c] {
			d := float64(n) - 2500.5
			b[c][n] = 0.6 * math.Cos(math.Pi/2*d)
			if c == 1 {
				b[c][n] += 0.3 * math.Exp(-d*d/20000) * math.Cos(math.Pi/2*d)
			}
		}
	}
	for from := 0; from < 4000; from += 700 {
		p.look([][]float64{b[0][from:min(from+700, 4000)], b[1][from:min(from+700, 4000)]})
	}
	p.end()
	if p.channel != 1 || math.Abs(p.frame-2500.5) > 0.25 || math.Abs(p.best-0.9) > 0.005 {
		t.Errorf("%v at %v in channel %d, want 0.9 at 2500.5 in 1", p.best, p.frame, p.channel)
	}
}

// A program that tells no version has the hash of its file.
func TestAProgramWithoutAVersion(t *testing.T) {
	codertest.Use(t, "")
	b, _ := delivery(t, "quay.wav")
	versions, err := b.Versions(context.Background(), through("copy"))
	if err != nil || !strings.HasPrefix(versions[0], "sha256 ") || len(versions[0]) != len("sha256 ")+64 {
		t.Errorf("versions %q, %v", versions, err)
	}
}

// What goes wrong is told with the coder's line, the step, and what to do.
func TestCodersThatFail(t *testing.T) {
	codertest.Use(t, codertest.Version)
	encodes := func(way string, limitS float64, args ...string) release.Coder {
		c := through("copy")
		c.Encode, c.TimeLimitS = codertest.Program(way, args...), limitS
		return c
	}
	missing := through("copy")
	missing.Encode = []string{"no-such-coder", "{in}", "{out}"}
	nowhere := through("copy")
	nowhere.Decode = []string{"./no-such-coder", "{out}", "{back}"}
	for _, c := range []struct {
		what  string
		coder release.Coder
		want  []string
	}{
		{
			"missing", missing, []string{
				`encode: there is no program "no-such-coder" in PATH; install it, or name another`,
			},
		},
		{
			"missing beside the release", nowhere, []string{
				`decode: there is no program "./no-such-coder" at that path, or it may not be run; install it, or ` +
					`name another`,
			},
		},
		{
			"fails", encodes("fail", 60), []string{
				`encode: "coder.test" failed: exit status 3; try it by itself`, "\n    ...",
				"\n    line 1999 of what it prints", "\n    ?[31mthe reason?[m why it failed",
			},
		},
		{
			"hangs", encodes("hang", 1, "{in}", "{out}.bin"), []string{
				"coder.test hang {in} {out}.bin\n",
				`encode: "coder.test" did not end within 1 s and was ended; raise time_limit_s`, "it printed nothing",
			},
		},
		{
			"hangs and stays", encodes("stay", 1), []string{
				`encode: "coder.test" did not end within 1 s and was ended`,
			},
		},
		{
			"writes nothing", encodes("nothing", 60), []string{
				`encode: "`, `ended without an error, but wrote nothing at {out}; want the coded file there`,
			},
		},
		{
			"decodes nothing", through("nothing"), []string{
				`decode: "`, `wrote nothing at {back}; want the decoded WAV file there`,
			},
		},
		{
			"writes without end", encodes("endless", 60, "{in}", "{out}"), []string{
				`encode: "coder.test" wrote more than 68 MB, far more than the delivery has, and was ended`,
			},
		},
		{"no audio", through("text"), []string{`decode: what came back: it cannot be read, want a WAV file: `}},
		{
			"mono", through("mono"), []string{
				`decode: what came back: it has another number of channels than the delivery, 1 and not 2; ` +
					"want a coder that keeps them",
			},
		},
		{
			"another rate", through("rate", "48000"), []string{
				`it has 48000 Hz, the delivery 44100; give the delivery a resample to the coder's rate`,
			},
		},
		{"silent", through("scale", "0"), []string{`it is silent, or not finite, where the delivery is loudest`}},
		{
			"far too short", through("short", "99000"), []string{
				`it is too short: 1000 frames of the delivery's 100000; see that encode writes all`,
			},
		},
		{
			"too short", through("short", "5000"), []string{
				`it is too short: 0 of the delivery's 100000 frames are missing at its start and 5000 at its end`,
			},
		},
		{
			"something else", through("noise"), []string{
				`it is not the delivery: their correlation is 0.0`, "\n  decode printed:\n    only noise",
			},
		},
	} {
		t.Run(c.what, func(t *testing.T) {
			b, file := delivery(t, "quay.wav")
			_, err := b.Run(context.Background(), file, c.coder)
			if err == nil || !strings.HasPrefix(err.Error(), `release.toml:41: coder "test": `) {
				t.Fatalf("the error is %v", err)
			}
			for _, want := range c.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("the error is %v\nwant in it %q", err, want)
				}
			}
		})
	}
}
