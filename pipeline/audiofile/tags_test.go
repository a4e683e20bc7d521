package audiofile

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
)

func exampleTags() Tags {
	return Tags{
		Album: "Night Ferry", Artist: "Lights", Date: "2026-11-27", CatalogueNumber: "LL 007", EAN: "6291041500213",
		Title: "Bräkwater", ISRC: "AA6Q72000047", Number: 2, Composer: "A. Wave",
	}
}

// exampleLoudness has the value that EBU Tech 3285 has as its example, -22.64 LUFS, which is F728
// hexadecimal.
func exampleLoudness() Loudness {
	a, b, c, d := -22.64, 7.126, -0.996, -19.5
	return Loudness{IntegratedLUFS: &a, RangeLU: &b, TruePeakDBTP: &c, MomentaryLUFS: &d}
}

// A file with tags is what the tables of RIFF and of EBU Tech 3285 say, byte by byte, in RIFF and in RF64.
func TestTagsInWAV(t *testing.T) {
	field := func(text string, n int) []byte { return append([]byte(text), make([]byte, n-len(text))...) }
	join := func(p ...[]byte) []byte { return bytes.Join(p, nil) }
	history := "A=PCM,F=44100,W=24,M=mono,T=mix\r\nA=PCM,F=44100,W=16,M=mono,T=Ledgerline; drive gain " +
		"gain_db=3\r\n"
	bext := ck("bext", join(
		field("Brakwater", 256), field("Ledgerline", 32), field("AA6Q72000047", 32), []byte("2026-11-27"),
		make([]byte, 8), make([]byte, 8),
		[]byte{2, 0}, make([]byte, 64),
		[]byte{0x28, 0xF7}, le.AppendUint16(nil, 713), le.AppendUint16(nil, 0x10000-100),
		le.AppendUint16(nil, 0x10000-1950), []byte{0xFF, 0x7F},
		make([]byte, 180), []byte(history))...)
	z := func(id, text string) []byte { return ck(id, append([]byte(text), 0)...) }
	list := ck("LIST", join([]byte("INFO"),
		z("INAM", "Bräkwater"), z("IART", "Lights"), z("IPRD", "Night Ferry"), z("ICRD", "2026-11-27"),
		z("ITRK", "2"), z("IMUS", "A. Wave"),
		z("ICMT", "ISRC AA6Q72000047, catalogue number LL 007, EAN 6291041500213"), z("ISFT", "Ledgerline"))...)
	samples := le.AppendUint16(le.AppendUint16(nil, 0x4000), 0x8000)
	data := ck("data", samples...)
	form := ck("fmt ", plainFmt(1, 1, 44100, 16)...)
	b := whisper(1, 2, 16)
	b[0][0], b[0][1] = 0.5, -1
	beside := Beside{Tags: exampleTags(), History: strings.Split(strings.TrimSuffix(history, "\r\n"), "\r\n")}
	f := Info{Rate: 44100, Channels: 1, Frames: 2, Encoding: PCM16}

	path := filepath.Join(t.TempDir(), "x.wav")
	w := writeWith(t, path, f, beside, b, 1, longFrom)
	if got, want := bytesOf(t, path), riff(form, bext, list, data); !bytes.Equal(got, want) {
		t.Errorf("written\n%q\nwant\n%q", got, want)
	}
	if sum, err := openFile(t, path).SHA256(); err != nil || sum != w.SHA256() {
		t.Errorf("hash %s, want %s", w.SHA256(), sum)
	}
	writeWith(t, path, f, beside, b, 1, 100)
	body := join(form, bext, list)
	want := long("RF64", ds64Chunk(uint64(4+36+len(body)+12), 4, 2, 0), body,
		claim("data", 0xFFFFFFFF, samples...))
	if got := bytesOf(t, path); !bytes.Equal(got, want) {
		t.Errorf("RF64: written\n%q\nwant\n%q", got, want)
	}
}

// Without tags nothing is beside the audio.
func TestNoTags(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.wav")
	f := Info{Rate: 44100, Channels: 1, Frames: 2, Encoding: PCM16}
	writeWith(t, path, f, Beside{History: []string{"A=PCM"}}, whisper(1, 2, 16), 1, longFrom)
	if got := len(bytesOf(t, path)); got != 48 {
		t.Errorf("%d bytes", got)
	}
}

// cues is a cue chunk of one marker at a frame: id, position, "data", chunk start, block start, sample
// offset.
func cues(at uint32) []byte {
	p := le.AppendUint32(le.AppendUint32(nil, 1), 7)
	p = append(le.AppendUint32(p, at), "data"...)
	return le.AppendUint32(append(p, make([]byte, 8)...), at)
}

func TestChunksCarriedOver(t *testing.T) {
	ltxt := le.AppendUint32(le.AppendUint32(nil, 7), 441)
	adtl := append([]byte("adtl"),
		append(ck("labl", 7, 0, 0, 0, 'a', 0), ck("ltxt", append(ltxt, make([]byte, 12)...)...)...)...)
	own := make([]byte, 602)
	copy(own, "a mix")
	copy(own[256:], "Studio")
	le.PutUint64(own[338:], 44100*60)
	copy(own[348:], "a UMID")
	own = append(own, "A=ANALOGUE,T=tape\r\n\x00\x00"...)
	file := riff(ck("fmt ", plainFmt(1, 1, 44100, 16)...), ck("bext", own...), ck("junk", 1),
		ck("cue ", cues(4410)...), ck("smpl", 1), ck("data", 1, 2),
		ck("LIST", adtl...), ck("iXML", []byte("<x/>")...),
		ck("LIST", append([]byte("INFO"), ck("INAM", 'x', 0)...)...))
	carried := func(rate int, earlier int64) string {
		r, err := openBytes(file)
		if err != nil {
			t.Fatal(err)
		}
		all, err := r.Carried(rate, earlier)
		if err != nil {
			t.Fatal(err)
		}
		p, err := Beside{Chunks: all, History: []string{"the mix", "A=PCM,T=x"}}.chunksOf()
		if err != nil {
			t.Fatal(err)
		}
		return string(p)
	}
	ours := bytes.Clone(own[:602])
	ours[346] = 2
	clear(ours[348:412])
	copy(ours[412:], "\xFF\x7F\xFF\x7F\xFF\x7F\xFF\x7F\xFF\x7F")
	ours = append(ours, "A=ANALOGUE,T=tape\r\nA=PCM,T=x\r\n"...)
	info := ck("LIST", append([]byte("INFO"), ck("INAM", 'x', 0)...)...)
	want := string(bytes.Join([][]byte{ck("bext", ours...), ck("cue ", cues(4410)...), ck("LIST", adtl...),
		ck("iXML", []byte("<x/>")...), info}, nil))
	if got := carried(44100, 0); got != want {
		t.Errorf("carried over\n%q\nwant\n%q", got, want)
	}

	// At 48 kHz a tenth of a second is 4800 frames, and the hundredth that a label lasts 480.
	le.PutUint64(ours[338:], 48000*60)
	le.PutUint32(adtl[4+8+6+8+4:], 480)
	want = string(bytes.Join([][]byte{ck("bext", ours...), ck("cue ", cues(4800)...), ck("LIST", adtl...),
		info}, nil))
	if got := carried(48000, 0); got != want {
		t.Errorf("carried over to 48 kHz\n%q\nwant\n%q", got, want)
	}

	// A file that begins 100 frames earlier has markers 100 frames later, and what lasts lasts as long.
	le.PutUint64(ours[338:], 48000*60-100)
	want = string(bytes.Join([][]byte{ck("bext", ours...), ck("cue ", cues(4900)...), ck("LIST", adtl...),
		info}, nil))
	if got := carried(48000, 100); got != want {
		t.Errorf("carried over to a file that begins earlier\n%q\nwant\n%q", got, want)
	}
}

// Tags come before what the mix says itself.
func TestTagsOverCarriedChunks(t *testing.T) {
	own := make([]byte, 602)
	copy(own, "a mix")
	copy(own[256:], "Studio")
	copy(own[320:], "1999-01-01")
	info := append([]byte("INFO"), ck("INAM", 'x', 0)...)
	p, err := Beside{Tags: Tags{Title: "New", Date: "2026"},
		Chunks: []Chunk{{"bext", own}, {"LIST", info}}}.chunksOf()
	if err != nil {
		t.Fatal(err)
	}
	if got := string(p[8:14]) + string(p[8+256:8+262]) +
		string(p[8+320:8+330]); got != "New\x00\x00\x00Studio1999-01-01" {
		t.Errorf("%q", got)
	}
	if bytes.Count(p, []byte("INFO")) != 1 || bytes.Contains(p, info) {
		t.Error("the mix's texts are carried over beside the tags")
	}
}

func TestASCII(t *testing.T) {
	if got := ascii("Ænima – für Élise, Łódź & 夜"); got != "Anima ? fur Elise, ?od? & ?" {
		t.Errorf("%q", got)
	}
}
