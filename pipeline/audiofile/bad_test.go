package audiofile

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"ledgerline/stages"
)

type badFile struct {
	name string
	file []byte
	kind error
	text string
}

func fmtOf(tag, channels uint16, rate uint32, bits uint16) []byte {
	return ck("fmt ", plainFmt(tag, channels, rate, bits)...)
}

func changed(b []byte, at int, to ...byte) []byte {
	b = bytes.Clone(b)
	copy(b[at:], to)
	return b
}

func badFiles() []badFile {
	data := ck("data", threeFrames...)
	elsewhereData := claim("data", 0xFFFFFFFF, threeFrames...)
	many := bytes.Repeat(ck("junk"), 10001)
	return []badFile{
		// No WAV file.
		{"empty", nil, ErrNotAudio, `it is empty`},
		{
			"text", []byte("Track list:\n01 breakwater\n"), ErrNotAudio,
			`it starts with "Trac", want "RIFF", "RF64", "BW64", "fLaC" or "FORM"`,
		},
		{
			"short text", []byte("hi\n"), ErrNotAudio,
			`it starts with "hi\n", want "RIFF", "RF64", "BW64", "fLaC" or "FORM"`,
		},
		{
			"other form", append([]byte("RIFF\x04\x00\x00\x00AVI "), data...), ErrNotAudio,
			`at byte 8: "AVI ", want "WAVE"`,
		},
		{
			"big endian", form("RIFX", stereo16, data), ErrUnsupported,
			`it starts with "RIFX" (big endian), want "RIFF"`,
		},
		{"cut in the header", []byte("RIFF\x04\x00"), ErrCorrupt, `it ends after 6 bytes, within its first header`},

		// Chunks.
		{"nothing in it", riff(), ErrCorrupt, `it has no chunk "fmt "`},
		{"no data", riff(stereo16), ErrCorrupt, `it has no chunk "data"`},
		{"no fmt", riff(data), ErrCorrupt, `it has no chunk "fmt "`},
		{
			"two fmt", riff(stereo16, list, stereo16, data), ErrCorrupt,
			`chunk "fmt " at byte 60: a second one; the first is at byte 12`,
		},
		{
			"two fmt around the data", riff(stereo16, data, stereo16), ErrCorrupt,
			`chunk "fmt " at byte 56: a second one; the first is at byte 12`,
		},
		{
			"two data", riff(stereo16, data, data), ErrCorrupt,
			`chunk "data" at byte 56: a second one; the first is at byte 36`,
		},
		{
			"no chunk's name", riff(stereo16, []byte("\x00\x01LI\x00\x00\x00\x00"), data), ErrCorrupt,
			`at byte 36: "\x00\x01LI", want a chunk's name`,
		},
		{
			"audio beyond its chunk", riff(stereo16, claim("data", 4, threeFrames...)), ErrCorrupt,
			`at byte 48: "\x00@\x00\xc0", want a chunk's name`,
		},
		{
			"chunk too long", riff(claim("LIST", 100, 1, 2), stereo16, data), ErrCorrupt,
			`chunk "LIST" at byte 12: it claims 100 bytes, but the file has 46 more`,
		},
		{
			"chunk of 4 GiB", riff(stereo16, claim("LIST", 0xFFFFFFF0, 1, 2), data), ErrCorrupt,
			`chunk "LIST" at byte 36: it claims 4294967280 bytes, but the file has 22 more`,
		},
		{
			"fmt of 4 GiB", riff(claim("fmt ", 0xFFFFFFF0, plainFmt(1, 2, 44100, 16)...), data), ErrCorrupt,
			`chunk "fmt " at byte 12: it claims 4294967280 bytes, but the file has 36 more`,
		},
		{"too many chunks", riff(many, stereo16, data), ErrUnsupported, `at byte 80012: more than 10000 chunks`},

		// The format.
		{
			"fmt too short", riff(ck("fmt ", plainFmt(1, 2, 44100, 16)[:14]...), data), ErrCorrupt,
			`chunk "fmt " at byte 12: 14 bytes, want 16 or more`,
		},
		{
			"0 channels", riff(fmtOf(1, 0, 44100, 16), data), ErrCorrupt,
			`chunk "fmt " at byte 12: 0 channels, want 1 to 64`,
		},
		{
			"65 channels", riff(fmtOf(1, 65, 44100, 16), data), ErrUnsupported,
			`chunk "fmt " at byte 12: 65 channels, want 1 to 64`,
		},
		{
			"65535 channels", riff(fmtOf(1, 65535, 44100, 16), data), ErrUnsupported,
			`chunk "fmt " at byte 12: 65535 channels, want 1 to 64`,
		},
		{
			"rate 0", riff(fmtOf(1, 2, 0, 16), data), ErrCorrupt,
			`chunk "fmt " at byte 12: sample rate 0 Hz, want 8000 to 384000`,
		},
		{
			"rate too low", riff(fmtOf(1, 2, 7999, 16), data), ErrUnsupported,
			`chunk "fmt " at byte 12: sample rate 7999 Hz, want 8000 to 384000`,
		},
		{
			"rate too high", riff(fmtOf(1, 2, 384001, 16), data), ErrUnsupported,
			`chunk "fmt " at byte 12: sample rate 384001 Hz, want 8000 to 384000`,
		},
		{
			"rate of 4 GHz", riff(fmtOf(1, 2, 0xFFFFFFFF, 16), data), ErrUnsupported,
			`chunk "fmt " at byte 12: sample rate 4294967295 Hz, want 8000 to 384000`,
		},
		{
			"A-law", riff(fmtOf(6, 2, 44100, 8), data), ErrUnsupported,
			`chunk "fmt " at byte 12: format tag 6 (A-law), want 1 (PCM), 3 (float) or 65534 (extensible)`,
		},
		{
			"mu-law", riff(fmtOf(7, 2, 44100, 8), data), ErrUnsupported,
			`chunk "fmt " at byte 12: format tag 7 (mu-law), want 1 (PCM), 3 (float) or 65534 (extensible)`,
		},
		{
			"compressed", riff(fmtOf(0x55, 2, 44100, 16), data), ErrUnsupported,
			`chunk "fmt " at byte 12: format tag 85, want 1 (PCM), 3 (float) or 65534 (extensible)`,
		},
		{
			"12 bits", riff(fmtOf(1, 2, 44100, 12), data), ErrUnsupported,
			`chunk "fmt " at byte 12: PCM of 12 bits, want 8, 16, 24 or 32`,
		},
		{
			"float of 16 bits", riff(fmtOf(3, 2, 44100, 16), data), ErrUnsupported,
			`chunk "fmt " at byte 12: float of 16 bits, want 32 or 64`,
		},
		{
			"wrong frame size", riff(changed(stereo16, 8+12, 6), data), ErrCorrupt,
			`chunk "fmt " at byte 12: 6 bytes a frame, want 4 for 2 channels of 16 bits`,
		},
		{
			"extensible, short", riff(ck("fmt ", extFmt(1, 2, 44100, 16, 16, 3)[:38]...), data), ErrCorrupt,
			`chunk "fmt " at byte 12: extensible header of 38 bytes, want 40`,
		},
		{"extensible, no extension", riff(changed(ck("fmt ", extFmt(1, 2, 44100, 16, 16, 3)...), 8+16, 0), data),
			ErrCorrupt,
			`chunk "fmt " at byte 12: extensible header with an extension of 0 bytes, want 22`},
		{
			"extensible, valid bits", riff(ck("fmt ", extFmt(1, 2, 44100, 16, 17, 3)...), data), ErrCorrupt,
			`chunk "fmt " at byte 12: 17 valid bits in a container of 16`,
		},
		{"extensible, other sub-format", riff(changed(ck("fmt ", extFmt(1, 2, 44100, 16, 16, 3)...), 8+28, 0x21),
			data), ErrUnsupported,
			`chunk "fmt " at byte 12: sub-format 01 00 00 00 21 00 10 00 80 00 00 aa 00 38 9b 71, want PCM ` +
				`or IEEE float`},
		{"extensible A-law", riff(ck("fmt ", extFmt(6, 2, 44100, 8, 8, 3)...), data), ErrUnsupported,
			`chunk "fmt " at byte 12: format tag 6 (A-law), want 1 (PCM), 3 (float) or 65534 (extensible)`},
		{"extensible within extensible", riff(ck("fmt ", extFmt(0xFFFE, 2, 44100, 16, 16, 3)...), data),
			ErrUnsupported,
			`chunk "fmt " at byte 12: format tag 65534, want 1 (PCM), 3 (float) or 65534 (extensible)`},

		// The audio.
		{
			"truncated", riff(stereo16, claim("data", 400, threeFrames...)), ErrCorrupt,
			`chunk "data" at byte 36: it claims 100 frames, but the file has 3: 97 frames are missing`,
		},
		{
			"truncated within a frame", riff(stereo16, claim("data", 400, threeFrames[:11]...)), ErrCorrupt,
			`chunk "data" at byte 36: it claims 100 frames, but the file has 2: 98 frames are missing`,
		},
		{
			"one byte short", riff(stereo16, claim("data", 12, threeFrames[:11]...)), ErrCorrupt,
			`chunk "data" at byte 36: it claims 3 frames, but the file has 2: 1 frames are missing`,
		},
		{
			"truncated before fmt", riff(claim("data", 400, threeFrames...), stereo16), ErrCorrupt,
			`chunk "data" at byte 12: it claims 400 bytes, but the file has 36 more`,
		},
		{"cut within a frame", riff(stereo16, ck("data", threeFrames[:11]...)), ErrCorrupt,
			`chunk "data" at byte 36: 11 bytes are 2 frames of 4 bytes and 3 bytes of another: it ends ` +
				`within a frame`},
		{
			"unknown size before fmt", riff(elsewhereData, stereo16), ErrCorrupt,
			`chunk "data" at byte 12: its size is not known and no chunk "fmt " comes before it`,
		},

		// RF64.
		{
			"RF64 without ds64", long("RF64", stereo16, elsewhereData), ErrCorrupt,
			`chunk "fmt " at byte 12: want "ds64" as the first chunk of an RF64 file`,
		},
		{"RF64 cut", form("RF64"), ErrCorrupt, `at byte 12: the file ends where a chunk should begin`},
		{
			"ds64 too short", long("BW64", ck("ds64", make([]byte, 24)...), stereo16, elsewhereData), ErrCorrupt,
			`chunk "ds64" at byte 12: 24 bytes, want 28 or more`,
		},
		{"ds64 too long", long("RF64", claim("ds64", 0xFFFFFF00, make([]byte, 28)...), stereo16, elsewhereData),
			ErrCorrupt,
			`chunk "ds64" at byte 12: it claims 4294967040 bytes, but the file has 72 more`},
		{"ds64 of unknown size", long("RF64", claim("ds64", 0xFFFFFFFF, make([]byte, 28)...), stereo16,
			elsewhereData), ErrCorrupt,
			`chunk "ds64" at byte 12: it claims 4294967295 bytes, but the file has 72 more`},
		{
			"ds64 table too long", long("RF64", ds64Chunk(80, 12, 3, 0xFFFFFFFF), stereo16, elsewhereData),
			ErrCorrupt, `chunk "ds64" at byte 12: a table of 4294967295 rows in 28 bytes`,
		},
		{"ds64 table too large", long("RF64", ds64Chunk(80, 12, 3, 65, make([]byte, 65*12)...), stereo16,
			elsewhereData), ErrUnsupported,
			`chunk "ds64" at byte 12: a table of 65 rows, want 64 at most`},
		{"RF64 truncated", long("RF64", ds64Chunk(80, 0x500000000, 3, 0), stereo16, elsewhereData), ErrCorrupt,
			`chunk "data" at byte 72: it claims 5368709120 frames, but the file has 3: 5368709117 frames are missing`},
		{"RF64 of an absurd size", long("RF64", ds64Chunk(80, 0xFFFFFFFFFFFFFFF0, 3, 0), stereo16, elsewhereData),
			ErrCorrupt,
			`chunk "data" at byte 72: it claims 2305843009213693951 frames, but the file has 3: 2305843009213693948 ` +
				`frames are missing`},
	}
}

// kindOf is the one kind that err is of, or nil.
func kindOf(err error) error {
	var found error
	for _, kind := range []error{ErrNotAudio, ErrCorrupt, ErrUnsupported} {
		if errors.Is(err, kind) {
			if found != nil {
				return nil
			}
			found = kind
		}
	}
	return found
}

func TestBadFiles(t *testing.T) {
	for _, c := range badFiles() {
		t.Run(c.name, func(t *testing.T) {
			_, err := openBytes(c.file)
			if err == nil {
				t.Fatal("opened")
			}
			if got, want := err.Error(), "x.wav: "+(&fault{kind: c.kind, text: c.text}).Error(); got != want {
				t.Errorf("error\n%s\nwant\n%s", got, want)
			}
			if got := kindOf(err); got != c.kind {
				t.Errorf("an error of kind %v, want %v", got, c.kind)
			}
		})
	}
}

// However a file lies, it is refused at the cost of a few kilobytes.
func TestHostileAllocation(t *testing.T) {
	const most = 4 << 10
	for _, c := range badFiles() {
		n := uint64(math.MaxUint64)
		for range 5 { // whatever else the process does allocates too, now and then
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			openBytes(c.file)
			runtime.ReadMemStats(&after)
			n = min(n, after.TotalAlloc-before.TotalAlloc)
		}
		if n > most {
			t.Errorf("%s: %d bytes allocated, want %d at most", c.name, n, most)
		}
	}
}

func TestOpenNoFile(t *testing.T) {
	dir := t.TempDir()
	if _, err := Open(filepath.Join(dir, "none.wav")); !errors.Is(err, os.ErrNotExist) ||
		!strings.Contains(err.Error(), "none.wav") {
		t.Errorf("a file that is not there: %v", err)
	}
	if _, err := Open(dir); !errors.Is(err, ErrNotAudio) {
		t.Errorf("a folder: %v", err)
	}
}

func TestShrinkingFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.wav")
	os.WriteFile(path, riff(stereo16, ck("data", make([]byte, 4*1000)...)), 0o600)
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	os.Truncate(path, 44+4*600+1)
	n, err := r.Read(stages.NewBlock(2, 4096))
	want := path + ": corrupt WAV file: it got shorter while it was being read: 400 of 1000 frames are missing"
	if n != 0 || err == nil || err.Error() != want || !errors.Is(err, ErrCorrupt) {
		t.Errorf("%d frames, error %v, want %s", n, err, want)
	}
	if _, again := r.Read(stages.NewBlock(2, 4096)); again != err || again == io.EOF {
		t.Errorf("then error %v, want the first again", again)
	}
}

func TestReadOtherChannels(t *testing.T) {
	r, err := openBytes(riff(stereo16, ck("data", threeFrames...)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Read(stages.NewBlock(1, 8)); err == nil {
		t.Error("a mono block was filled from a stereo file")
	}
}
