//go:build reference

package coder

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// ffmpeg runs Debian's program, and is what it reports.
func ffmpeg(t *testing.T, args ...string) string {
	t.Helper()
	var said bytes.Buffer
	c := exec.Command("ffmpeg", append([]string{"-nostdin", "-hide_banner"}, args...)...)
	c.Stderr = &said
	if err := c.Run(); err != nil {
		t.Fatalf("ffmpeg %q: %v\n%s", args, err, said.String())
	}
	return said.String()
}

var peakLevel = regexp.MustCompile(`Peak level dB: (-?[0-9.]+)`)

// reportedPeak is the sample peak that the program itself reports of a file, dBFS: the higher of two
// channels, to 1e-6 dB.
func reportedPeak(t *testing.T, file string) float64 {
	t.Helper()
	text := ffmpeg(t, "-i", file, "-af", "astats=measure_perchannel=none:measure_overall=Peak_level", "-f",
		"null", "-")
	m := peakLevel.FindStringSubmatch(text)
	if m == nil {
		t.Fatalf("no peak in %s", text)
	}
	db, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return db
}

// Through real coders the sample peak is the one that the program itself finds in the coded file, and the
// delay is what the coders are known to have. What a file says of its delay, the decoder takes away. Where it
// says nothing, 1105 frames are left of MP3 (576 that the encoder puts in front, and the decoder's 528 and 1)
// and 1024 of AAC, the length of its transform.
func TestThroughRealCoders(t *testing.T) {
	const mix = "../../examples/night-ferry/mixes/01 quay.wav"
	for _, c := range []struct {
		name, file string
		args       []string
		delay      int64
	}{
		{"AAC", "{out}.m4a", []string{"-c:a", "aac", "-b:a", "256k"}, 0},
		{"AAC, raw", "{out}.aac", []string{"-c:a", "aac", "-b:a", "128k"}, 1024},
		{"MP3", "{out}.mp3", []string{"-c:a", "libmp3lame", "-b:a", "192k"}, 0},
		{
			"MP3, raw", "{out}.mp3", []string{"-c:a", "libmp3lame", "-b:a", "320k", "-write_xing", "0",
				"-id3v2_version", "0"}, 1105,
		},
		{"Vorbis", "{out}.ogg", []string{"-c:a", "libvorbis", "-q:a", "5"}, 0},
		{"FLAC", "{out}.flac", []string{"-c:a", "flac"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder, kept := t.TempDir(), t.TempDir()
			file := filepath.Join(folder, "quay.wav")
			copyMix(t, file, mix)
			coded := filepath.Join(kept, "coded"+filepath.Ext(c.file))
			encode := append([]string{"-v", "error", "-nostdin", "-y", "-i", "{in}"}, c.args...)
			b := NewBench(folder, folder)
			f := mustRun(t, b, file, release.Coder{
				Name: c.name, At: "release.toml:1", TimeLimitS: 600,
				Encode: append(append([]string{"ffmpeg"}, encode...), c.file),
				Decode: []string{"ffmpeg", "-v", "error", "-nostdin", "-i", c.file, "-c:a", "pcm_f32le", "{back}"},
			})
			encode[5] = file
			ffmpeg(t, append(encode, coded)...)
			if got, want := stages.DB(f.SamplePeak), reportedPeak(t, coded); math.Abs(got-want) > 1e-5 {
				t.Errorf("the sample peak is %.6f dBFS, the program reports %.6f", got, want)
			}
			if f.DelayFrames != c.delay || f.TruePeak < f.SamplePeak {
				t.Errorf("delayed by %d frames, want %d; peaks %v and %v", f.DelayFrames, c.delay, f.SamplePeak,
					f.TruePeak)
			}
			if want := regexp.MustCompile(`^ffmpeg version [0-9]`); !want.MatchString(f.Versions[0]) {
				t.Errorf("the version is %q", f.Versions[0])
			}
			if names := foldertest.Names(t, folder); len(names) != 1 {
				t.Errorf("the folder has %q", names)
			}
		})
	}
}

// copyMix writes a mix as float32, so that a coder gets what it would of a delivery.
func copyMix(t *testing.T, to, from string) {
	t.Helper()
	r, err := audiofile.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	f := r.Info()
	all := stages.NewBlock(f.Channels, int(f.Frames))
	if n, err := r.Read(all); n != all.Frames() {
		t.Fatal(n, err)
	}
	f.Encoding = audiofile.Float32
	if err := mixtest.Write(to, f, func(c int, n int64) float64 { return all[c][n] }); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(to); err != nil {
		t.Fatal(err)
	}
}
