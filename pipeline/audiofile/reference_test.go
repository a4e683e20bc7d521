//go:build reference

package audiofile

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"ledgerline/stages"
)

// run runs one of Debian's programs (packages flac, ffmpeg and mediainfo), and is what it prints.
func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	var errors bytes.Buffer
	c := exec.Command(name, args...)
	c.Stderr = &errors
	out, err := c.Output()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, errors.String())
	}
	return string(out)
}

// programme is what a mix of the example has, in whole numbers of so many bits.
func programme(t *testing.T, name string, bits int) (Info, stages.Block) {
	t.Helper()
	r := openFile(t, filepath.Join("../../examples/night-ferry/mixes", name))
	b := readAll(t, r, 4096)
	f := r.Info()
	f.Encoding = map[int]Encoding{16: PCM16, 24: PCM24, 32: PCM32}[bits]
	if bits == 16 { // the last bits are noise, and would be that of no dither
		p := make([]byte, 4*b.Frames())
		encode16(p, b)
		decode16(b, p)
	}
	return f, b
}

func sizeOf(t *testing.T, path string) int64 {
	t.Helper()
	st, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return st.Size()
}

// What is written passes the reference decoder's test, comes back bit for bit, and is no more than 1 % larger
// than the reference encoder makes it at its usual level, without its padding.
func TestFLACAgainstReference(t *testing.T) {
	folder := t.TempDir()
	ours, theirs, back := filepath.Join(folder, "ours.flac"), filepath.Join(folder, "theirs.flac"),
		filepath.Join(folder, "back.wav")
	for _, name := range []string{"01 quay.wav", "02 breakwater.wav", "03 lantern.wav"} {
		for _, bits := range []int{16, 24, 32} {
			f, b := programme(t, name, bits)
			wav := filepath.Join(folder, "x.wav")
			write(t, wav, f, b, 4096, longFrom)
			writeWith(t, ours, f, Beside{Container: FLAC}, b, 4096, longFrom)
			run(t, "flac", "-s", "-t", ours)
			run(t, "flac", "-s", "-d", "-f", "-o", back, ours)
			if got := readAll(t, openFile(t, back), 4096); !same(got, b) {
				t.Errorf("%s, %d bits: other samples come back", name, bits)
			}
			run(t, "flac", "-s", "-5", "--no-padding", "-f", "-o", theirs, wav)
			a, c := sizeOf(t, ours), sizeOf(t, theirs)
			t.Logf("%s, %d bits: %d bytes of %d, the reference encoder %d: %+.2f %%", name, bits, a, sizeOf(t, wav),
				c, 100*(float64(a)/float64(c)-1))
			if float64(a) > 1.01*float64(c) {
				t.Errorf("%s, %d bits: %d bytes, the reference encoder %d", name, bits, a, c)
			}
		}
	}
}

// Whatever the reference encoder makes is read.
func TestFLACOfReference(t *testing.T) {
	folder := t.TempDir()
	wav, path := filepath.Join(folder, "x.wav"), filepath.Join(folder, "x.flac")
	for _, bits := range []int{16, 24, 32} {
		f, b := programme(t, "03 lantern.wav", bits)
		b = b.Slice(40000, 90001)
		f.Frames = int64(b.Frames())
		write(t, wav, f, b, 4096, longFrom)
		for _, options := range [][]string{
			{"-0"}, {"-3"}, {"-5"}, {"-8"}, {"-8", "-p", "-e"}, {"--lax", "-l", "32", "-b", "65535"}, {"-b", "192"},
			{"--lax", "-b", "17", "-r", "0"},
			{"-5", "--no-mid-side", "-r", "15", "--lax"}, {"-m", "-l", "0"},
		} {
			run(t, "flac", append(append([]string{"-s", "-f", "-o", path}, options...), wav)...)
			if got := readAll(t, openFile(t, path), 1000); !same(got, b) {
				t.Errorf("%d bits, %q: other samples", bits, options)
			}
		}
	}
	raw := filepath.Join(folder, "x.raw")
	for bits, width := range map[int]int{8: 1, 16: 2} {
		p := make([]byte, 6000*width)
		want := stages.NewBlock(1, 6000)
		for i := range 6000 {
			v := (i*i)%(1<<bits) - 1<<(bits-1)
			for k := range width {
				p[i*width+k] = byte(v >> (8 * k))
			}
			want[0][i] = float64(v) / float64(int(1)<<(bits-1))
		}
		if err := os.WriteFile(raw, p, 0o666); err != nil {
			t.Fatal(err)
		}
		run(t, "flac", "-s", "-f", "--lax", "--force-raw-format", "--endian=little", "--sign=signed",
			"--channels=1", "--sample-rate=44100", fmt.Sprint("--bps=", bits), "-o", path, raw)
		if got := readAll(t, openFile(t, path), 1000); !same(got, want) {
			t.Errorf("%d bits: other samples", bits)
		}
	}
}

// Whatever the reference encoder finds wrong with a file of ours that was altered, so do we.
func TestAlteredFLACAgainstReference(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.flac")
	f, b := programme(t, "01 quay.wav", 16)
	b = b.Slice(0, 20000)
	f.Frames = 20000
	writeWith(t, path, f, Beside{Container: FLAC}, b, 4096, longFrom)
	good := bytesOf(t, path)
	for at := 200; at < len(good); at += len(good) / 20 {
		bad := bytes.Clone(good)
		bad[at] ^= 4
		if err := os.WriteFile(path, bad, 0o666); err != nil {
			t.Fatal(err)
		}
		theirs, ours := exec.Command("flac", "-s", "-t", path).Run(), readError(bad)
		if (theirs != nil) != (ours != io.EOF) {
			t.Errorf("byte %d altered: the reference decoder %v, ours %v", at, theirs, ours)
		}
	}
}

func TestAIFFOfReference(t *testing.T) {
	folder := t.TempDir()
	wav, path := filepath.Join(folder, "x.wav"), filepath.Join(folder, "x.aiff")
	for codec, e := range map[string]Encoding{
		"pcm_s16be": PCM16, "pcm_s24be": PCM24, "pcm_s32be": PCM32, "pcm_s16le": PCM16, "pcm_f32be": Float32,
		"pcm_f64be": Float64,
	} {
		f, b := programme(t, "01 quay.wav", 16)
		write(t, wav, f, b, 4096, longFrom)
		run(t, "ffmpeg", "-v", "error", "-y", "-i", wav, "-c:a", codec, "-f", "aiff", path)
		r := openFile(t, path)
		if got := r.Info().Encoding; got != e {
			t.Errorf("%s: %s", codec, got)
		}
		if got := readAll(t, r, 1000); !same(got, b) {
			t.Errorf("%s: other samples", codec)
		}
	}
}

func wantLines(t *testing.T, from, text string, lines ...string) {
	t.Helper()
	squeezed := strings.Join(strings.Fields(text), " ")
	for _, line := range lines {
		if !strings.Contains(squeezed, line) {
			t.Errorf("%s does not say %q:\n%s", from, line, text)
		}
	}
}

// Others read the tags, and the readings, as they were meant.
func TestTagsAgainstReference(t *testing.T) {
	folder := t.TempDir()
	f := Info{Rate: 44100, Channels: 2, Frames: 20000, Encoding: PCM24}
	b := whisper(2, 20000, 24)
	beside := Beside{
		Container: FLAC, Tags: exampleTags(), History: []string{
			"A=PCM,F=44100,W=24,M=stereo,T=mix", "A=PCM,F=44100,W=24,M=stereo,T=x",
		},
	}

	path := filepath.Join(folder, "x.flac")
	writeWith(t, path, f, beside, b, 4096, longFrom)
	wantLines(t, "metaflac", run(t, "metaflac", "--export-tags-to=-", "--no-utf8-convert", path),
		"TITLE=Bräkwater ARTIST=Lights ALBUM=Night Ferry DATE=2026-11-27 TRACKNUMBER=2 COMPOSER=A. Wave "+
			"ISRC=AA6Q72000047 CATALOGNUMBER=LL 007 BARCODE=6291041500213")
	wantLines(t, "metaflac", run(t, "metaflac", "--show-total-samples", "--show-min-blocksize", "--show-bps",
		path), "20000 4096 24")
	wantLines(t, "ffprobe", run(t, "ffprobe", "-v", "error", "-show_entries", "format_tags", "-of",
		"default=nk=0", path), "TAG:TITLE=Bräkwater", "TAG:ISRC=AA6Q72000047", "TAG:track=2")
	wantLines(t, "mediainfo", run(t, "mediainfo", path), "Track name : Bräkwater", "Album : Night Ferry",
		"Performer : Lights", "Composer : A. Wave", "ISRC : AA6Q72000047", "BARCODE : 6291041500213",
		"Compression mode : Lossless")

	path = filepath.Join(folder, "x.wav")
	beside.Container = WAV
	writeWith(t, path, f, beside, b, 4096, longFrom)
	wantLines(t, "ffprobe", run(t, "ffprobe", "-v", "error", "-show_entries", "format_tags", "-of",
		"default=nk=0", path),
		"TAG:title=Bräkwater", "TAG:artist=Lights", "TAG:album=Night Ferry", "TAG:date=2026-11-27", "TAG:track=2",
		"TAG:encoder=Ledgerline",
		"TAG:encoded_by=Ledgerline", "TAG:originator_reference=AA6Q72000047",
		"TAG:comment=ISRC AA6Q72000047, catalogue number LL 007, EAN 6291041500213",
		"TAG:coding_history=A=PCM,F=44100,W=24,M=stereo,T=mix")
	wantLines(t, "mediainfo", run(t, "mediainfo", path), "Description : Brakwater", "Producer : Ledgerline",
		"Encoded date : 2026-11-27",
		"LoudnessValue : -22.64", "LoudnessRange : 7.13", "MaxTruePeakLevel : -1.00",
		"MaxMomentaryLoudness : -19.50",
		"Encoding settings : A=PCM,F=44100,W=24,M=stereo,T=mix / A=PCM,F=44100,W=24,M=stereo,T=x")
}
