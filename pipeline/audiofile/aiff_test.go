package audiofile

import (
	"encoding/binary"
	"math"
	"testing"

	"ledgerline/stages"
)

// aiff is a file of chunks: Apple, Audio Interchange File Format, version 1.3, and AIFF-C.
func aiff(form string, chunks ...[]byte) []byte {
	p := []byte(form)
	for _, c := range chunks {
		p = append(p, c...)
	}
	return append(binary.BigEndian.AppendUint32([]byte("FORM"), uint32(len(p))), p...)
}

// bck is a chunk with its pad byte.
func bck(id string, payload ...byte) []byte {
	p := append(binary.BigEndian.AppendUint32([]byte(id), uint32(len(payload))), payload...)
	if len(payload)%2 == 1 {
		p = append(p, 0)
	}
	return p
}

// rate44100 is 44100 in eighty bits: exponent 16383 + 15, mantissa 44100 * 2^(63-15).
var rate44100 = []byte{0x40, 0x0E, 0xAC, 0x44, 0, 0, 0, 0, 0, 0}

func comm(channels uint16, frames uint32, bits uint16, rate []byte, way string) []byte {
	be := binary.BigEndian
	p := be.AppendUint16(nil, channels)
	p = be.AppendUint32(p, frames)
	p = append(be.AppendUint16(p, bits), rate...)
	if way != "" {
		p = append(append(p, way...), 0, 0) // and its name in words, which is empty
	}
	return bck("COMM", p...)
}

func ssnd(data ...byte) []byte { return bck("SSND", append(make([]byte, 8), data...)...) }

func TestAIFF(t *testing.T) {
	f32 := binary.BigEndian.AppendUint32(nil, math.Float32bits(0.25))
	f64 := binary.BigEndian.AppendUint64(nil, math.Float64bits(-0.1))
	for name, c := range map[string]struct {
		form, way string
		bits      uint16
		data      []byte
		e         Encoding
		want      []float64
	}{
		"8":  {"AIFF", "", 8, []byte{0x40, 0x80}, PCM8, []float64{0.5, -1}},
		"16": {"AIFF", "", 16, []byte{0x40, 0, 0x80, 1}, PCM16, []float64{0.5, -1 + 0x1p-15}},
		"20": {"AIFF", "", 20, []byte{0x40, 0, 0x10, 0x80, 0, 0}, PCM24, []float64{0.5 + 0x1p-19, -1}},
		"24": {"AIFF", "", 24, []byte{0x40, 0, 1, 0x80, 0, 0}, PCM24, []float64{0.5 + 0x1p-23, -1}},
		"32": {
			"AIFF", "", 32, []byte{0x40, 0, 0, 1, 0x80, 0, 0, 0}, PCM32, []float64{0.5 + 0x1p-31, -1},
		},
		"24 in AIFF-C":  {"AIFC", "NONE", 24, []byte{0x40, 0, 1, 0x80, 0, 0}, PCM24, []float64{0.5 + 0x1p-23, -1}},
		"twos":          {"AIFC", "twos", 16, []byte{0x40, 0, 0x80, 1}, PCM16, []float64{0.5, -1 + 0x1p-15}},
		"little endian": {"AIFC", "sowt", 16, []byte{0, 0x40, 1, 0x80}, PCM16, []float64{0.5, -1 + 0x1p-15}},
		"little 24":     {"AIFC", "sowt", 24, []byte{1, 0, 0x40, 0, 0, 0x80}, PCM24, []float64{0.5 + 0x1p-23, -1}},
		"float32":       {"AIFC", "fl32", 32, append(f32, f32...), Float32, []float64{0.25, 0.25}},
		"float64":       {"AIFC", "FL64", 64, append(f64, f64...), Float64, []float64{-0.1, -0.1}},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := openBytes(aiff(c.form, bck("FVER", 0xA2, 0x80, 0x51, 0x40),
				comm(1, 2, c.bits, rate44100, c.way), bck("NAME", 'x'), ssnd(c.data...)))
			if err != nil {
				t.Fatal(err)
			}
			if want := (Info{Rate: 44100, Channels: 1, Frames: 2, Encoding: c.e}); r.Info() != want {
				t.Errorf("info %v, want %v", r.Info(), want)
			}
			if got := readAll(t, r, 3); !same(got, stages.Block{c.want}) {
				t.Errorf("read %v, want %v", got[0], c.want)
			}
			if got := r.Chunks(); len(got) != 1 || got[0] != "NAME" {
				t.Errorf("chunks %q", got)
			}
		})
	}
}

func TestBadAIFF(t *testing.T) {
	good := aiff("AIFF", comm(2, 3, 16, rate44100, ""), ssnd(make([]byte, 12)...))
	fraction := append([]byte(nil), rate44100...)
	fraction[4] = 0x80
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"cut": {
			good[:len(good)-5], `corrupt AIFF file: chunk "SSND" at byte 38: the file claims 3 frames, but has 1: 2 ` +
				`frames are missing`,
		},
		"cut in COMM": {
			good[:30], `corrupt AIFF file: chunk "COMM" at byte 12: it claims 18 bytes, but the file has 10 more`,
		},
		"no COMM": {aiff("AIFF", ssnd(0, 0)), `corrupt AIFF file: it has no chunk "COMM"`},
		"no SSND": {
			aiff("AIFF", comm(2, 3, 16, rate44100, "")), `corrupt AIFF file: it has no chunk "SSND"`,
		},
		"two of them": {
			aiff("AIFF", comm(2, 3, 16, rate44100, ""), comm(2, 3, 16, rate44100, "")),
			`corrupt AIFF file: chunk "COMM" at byte 38: a second one`,
		},
		"compressed": {
			aiff("AIFC", comm(2, 3, 16, rate44100, "ulaw"), ssnd(0)),
			`unsupported AIFF file: chunk "COMM" at byte 12: compressed as "ulaw", want "NONE", "twos", "sowt", ` +
				`"fl32" or "fl64"`,
		},
		"40 bits": {
			aiff("AIFF", comm(2, 3, 40, rate44100, ""), ssnd(0)),
			`unsupported AIFF file: chunk "COMM" at byte 12: samples of 40 bits, want 8, 16, 24 or 32`,
		},
		"no channels": {
			aiff("AIFF", comm(0, 3, 16, rate44100, ""), ssnd(0)), `corrupt AIFF file: 0 channels, want 1 to 64`,
		},
		"a broken rate": {
			aiff("AIFF", comm(2, 3, 16, fraction, ""), ssnd(0)),
			`unsupported AIFF file: chunk "COMM" at byte 12: its rate is 44100.5 Hz, want a whole number`,
		},
		"offset too large": {
			aiff("AIFF", comm(1, 1, 16, rate44100, ""), bck("SSND", 0xFF, 0xFF, 0xFF, 0xFF, 0, 0, 0, 0, 1, 2)),
			`corrupt AIFF file: chunk "SSND" at byte 38: the file claims 1 frames, but has 0: 1 frames are missing`,
		},
		"control bytes": {
			aiff("AIFF", bck("\x00\x01AB")), `corrupt AIFF file: at byte 12: "\x00\x01AB", want a chunk's name`,
		},
	} {
		if err := readError(c.file); err == nil || err.Error() != "x.wav: "+c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}
