package audiofile

import (
	"crypto/md5"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	other "github.com/mewkiz/flac"
	"github.com/mewkiz/flac/meta"

	"ledgerline/pipeline/audiofile/flac"
	"ledgerline/stages"
	runs "ledgerline/stages/stagetest/long"
)

// whisper is noise over a ramp, in codes of so many bits.
func whisper(channels, frames, bits int) stages.Block {
	rng := rand.New(rand.NewPCG(7, uint64(bits)))
	b := stages.NewBlock(channels, frames)
	full := float64(int64(1) << (bits - 1))
	for c := range b {
		for i := range b[c] {
			b[c][i] = (float64(i%1000*(c+1)) + float64(rng.IntN(64))) / full
		}
	}
	return b
}

// openFile opens a file that is closed with the test.
func openFile(t testing.TB, path string) *Reader {
	t.Helper()
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

func TestFLACComesBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.flac")
	for _, e := range []Encoding{PCM16, PCM24, PCM32} {
		for _, channels := range []int{1, 2, 6, 8} {
			for i, frames := range []int{0, 1, 4096, 4097, runs.Or(9000, 30000)} {
				few := [][]int{{44100}, {383999}}[i%2]
				for _, rate := range runs.Or(few, []int{8000, 44100, 176400, 383999}) {
					b := whisper(channels, frames, e.WordBits())
					f := Info{Rate: rate, Channels: channels, Frames: int64(frames), Encoding: e}
					if channels > 2 {
						f.Mask = usualMask(channels)
					}
					w := writeWith(t, path, f, Beside{Container: FLAC}, b, 1000, longFrom)
					r := openFile(t, path)
					if r.Info() != f {
						t.Fatalf("%+v read, %+v written", r.Info(), f)
					}
					if err := r.Hash(); err != nil {
						t.Fatal(err)
					}
					if got := readAll(t, r, 777); !same(got, b) {
						t.Fatalf("%+v: other samples read than written", f)
					}
					sum := sha256.Sum256(bytesOf(t, path))
					if got, err := r.SHA256(); err != nil || got != hex.EncodeToString(sum[:]) || w.SHA256() != got {
						t.Fatalf("%+v: hash %s (%v), written %s, want %x", f, got, err, w.SHA256(), sum)
					}
				}
			}
		}
	}
}

// Another implementation reads what is before the frames, and finds by the seek table what it says is there.
func TestFLACHead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.flac")
	const seconds, rate = 31, 8000
	b := whisper(2, seconds*rate, 16)
	writeWith(t, path, Info{Rate: rate, Channels: 2, Frames: seconds * rate, Encoding: PCM16, Mask: 0x30},
		Beside{Container: FLAC, Tags: exampleTags()}, b, 4096, longFrom)
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s, err := other.Parse(f)
	if err != nil {
		t.Fatal(err)
	}
	pcm := make([]byte, 4*b.Frames())
	encode16(pcm, b)
	if want := md5.Sum(pcm); s.Info.MD5sum != want || s.Info.NSamples != seconds*rate ||
		s.Info.BlockSizeMin != 4096 || s.Info.BlockSizeMax != 4096 {
		t.Errorf("%+v, want MD5 %x", s.Info, want)
	}
	points := s.Blocks[0].Body.(*meta.SeekTable).Points
	if len(points) != 4 {
		t.Errorf("%d points, want one each 10 s", len(points))
	}
	size := int64(len(bytesOf(t, path)))
	for k, p := range points {
		if at := int64(p.SampleNum); at > int64(k*10*rate) || at+4096 <= int64(k*10*rate) {
			t.Errorf("point %d is at sample %d, not within a block of %d s", k, at, k*10)
		}
		info, data := flacInfo(t, path)
		d := flac.NewDecoder(info)
		p0 := bytesOf(t, path)[data+int64(p.Offset) : size]
		samples, _, err := d.Frame(append(p0, make([]byte, flac.Slack)...)[:len(p0)], int64(p.SampleNum))
		if err != nil || float64(samples[0][0])/0x1p15 != b[0][p.SampleNum] {
			t.Errorf("point %d: %v", k, err)
		}
	}
	var got []string
	for _, c := range s.Blocks[1].Body.(*meta.VorbisComment).Tags {
		got = append(got, c[0]+"="+c[1])
	}
	want := "TITLE=Bräkwater|ARTIST=Lights|ALBUM=Night Ferry|DATE=2026-11-27|TRACKNUMBER=2|COMPOSER=A. " +
		"Wave|ISRC=AA6Q72000047|CATALOGNUMBER=LL 007|BARCODE=6291041500213|WAVEFORMATEXTENSIBLE_CHANNEL_MASK=0x0030"
	if strings.Join(got, "|") != want {
		t.Errorf("comments\n%s\nwant\n%s", strings.Join(got, "|"), want)
	}
	if got := openFile(t, path).Info().Mask; got != 0x30 {
		t.Errorf("mask %#x read back", got)
	}
}

// flacInfo is what a file of ours begins with, and where its frames begin.
func flacInfo(t testing.TB, path string) (flac.Info, int64) {
	t.Helper()
	info, err := flac.ParseInfo(bytesOf(t, path)[8:42])
	if err != nil {
		t.Fatal(err)
	}
	return info, openFile(t, path).at.data
}

// readError is the error that reading all of a file in memory ends with.
func readError(p []byte) error {
	r, err := openBytes(p)
	for b := stages.NewBlock(max(1, len(viewOf(r))), 1000); err == nil; {
		_, err = r.Read(b)
	}
	return err
}

func viewOf(r *Reader) stages.Block {
	if r == nil {
		return nil
	}
	return r.view
}

func TestBrokenFLAC(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.flac")
	b := whisper(2, 10000, 16)
	writeWith(t, path, Info{Rate: 44100, Channels: 2, Frames: 10000, Encoding: PCM16}, Beside{Container: FLAC},
		b, 4096, longFrom)
	good := bytesOf(t, path)
	if err := readError(good); err != io.EOF {
		t.Fatal(err)
	}
	_, data := flacInfo(t, path)
	changed := func(at int, to byte) []byte {
		p := append([]byte(nil), good...)
		p[at] = to
		return p
	}
	second := int(data)
	for at := second + 1; ; at++ { // the second frame's header: fixed blocks, 4096 frames at 44.1 kHz, number 1
		if good[at] == 0xFF && good[at+1] == 0xF8 && good[at+2] == 0xC9 && good[at+4] == 1 {
			second = at
			break
		}
	}
	for _, c := range []struct {
		name string
		file []byte
		want string
	}{
		{
			"cut in the magic", good[:3],
			`not a WAV, FLAC or AIFF file: it starts with "fLa", want "RIFF", "RF64", "BW64", "fLaC" or "FORM"`,
		},
		{"cut after the magic", good[:4], `corrupt FLAC file: at byte 4: the file ends where a block should begin`},
		{
			"cut in the first block", good[:20],
			`corrupt FLAC file: block at byte 4: it claims 34 bytes, but the file has 12 more`,
		},
		{
			"without frames", good[:data],
			fmt.Sprintf("corrupt FLAC file: 10000 of 10000 frames are missing: the file ends within its frame at "+
				"byte %d; copy or encode it again", data),
		},
		{
			"cut in a frame", good[:second+30],
			fmt.Sprintf("corrupt FLAC file: 5904 of 10000 frames are missing: the file ends within its frame at "+
				"byte %d; copy or encode it again", second),
		},
		{
			"cut between frames", good[:second],
			fmt.Sprintf("corrupt FLAC file: 5904 of 10000 frames are missing: the file ends within its frame at "+
				"byte %d; copy or encode it again", second),
		},
		{"one byte short", good[:len(good)-1], "corrupt FLAC file: 1808 of 10000 frames are missing"},
		{
			"of another block first", changed(4, 4),
			`corrupt FLAC file: block at byte 4: of type 4, want type 0 first, and only there`,
		},
		{"of no channels", changed(20, good[20]&0xF1|0xE), `corrupt FLAC file: frame at byte`},
		{
			"MD5", changed(26, good[26]^1),
			`corrupt FLAC file: its samples are not those that were encoded: their MD5 is `,
		},
		{"no length", func() []byte {
			p := changed(21, good[21]&0xF0)
			clear(p[22:26])
			return p
		}(), `unsupported FLAC file: it does not say how long it is, as one that was written into a pipe; encode ` +
			`it again, into a file`},
		{
			"a frame out of order", append(append(append([]byte(nil), good[:data]...), good[second:]...),
				good[data:second]...),
			fmt.Sprintf("corrupt FLAC file: frame at byte %d: it is number 1, which does not follow: frames are "+
				"missing or out of order; copy or encode it again", data),
		},
	} {
		if err := readError(c.file); err == nil || !strings.HasPrefix(err.Error(), "x.wav: "+c.want) {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
	// Whichever byte of the frames changes, it is noticed.
	for at := int(data); at < len(good); at += runs.Or(113, 31) {
		if err := readError(changed(at, good[at]^0x10)); kindOf(err) != ErrCorrupt {
			t.Errorf("byte %d changed: %v", at, err)
		}
	}
}

// Some programs put a tag before the file, and some encoders code 12 and 20 bits or leave the rate open.
func TestFLACOfOthers(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.flac")
	b := whisper(1, 5000, 16)
	writeWith(t, path, Info{Rate: 44100, Channels: 1, Frames: 5000, Encoding: PCM16}, Beside{Container: FLAC},
		b, 4096, longFrom)
	tagged := append([]byte("ID3\x04\x00\x00\x00\x00\x01\x02"), make([]byte, 130)...)
	r, err := openBytes(append(tagged, bytesOf(t, path)...))
	if err != nil {
		t.Fatal(err)
	}
	if got := readAll(t, r, 100); !same(got, b) {
		t.Error("after a tag: other samples")
	}
	for audio, want := range map[string]string{
		"\xff\xfb\x40\xc0": "not a WAV, FLAC or AIFF file: MPEG audio, such as MP3, after a tag of 140 bytes",
		"OggS":             `not a WAV, FLAC or AIFF file: "OggS" after a tag of 140 bytes`,
	} {
		_, err := openBytes(append(tagged[:140:140], audio...))
		if !errors.Is(err, ErrNotAudio) || err.Error() != "x.wav: "+want {
			t.Errorf("%q: %v, want %s", audio, err, want)
		}
	}
	// Words that fill no bytes are left-justified, as those of WAV are.
	for _, bits := range []int{12, 20} {
		info := flac.Info{
			Format: flac.Format{Rate: 44100, Channels: 1, Bits: bits}, BlockMin: 4096, BlockMax: 4096, Frames: 1000,
		}
		x, want := make([]int32, 1000), stages.NewBlock(1, 1000)
		sum := md5.New()
		for i := range x {
			x[i] = int32(i*i%(1<<bits) - 1<<(bits-1))
			want[0][i] = float64(x[i]) / float64(int(1)<<(bits-1))
			sum.Write([]byte{byte(x[i]), byte(x[i] >> 8), byte(x[i] >> 16)}[:(bits+7)/8])
		}
		sum.Sum(info.MD5[:0])
		r, err := openBytes(flac.NewEncoder(info.Format).Append(flac.Head(info, nil), [][]int32{x}, 0))
		if err != nil {
			t.Fatal(err)
		}
		if got := readAll(t, r, 100); !same(got, want) {
			t.Errorf("%d bits: other samples", bits)
		}
	}
}
