package release

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// wavFile is a mono WAV file of 16 bits of that many equal samples, with chunks
// of two bytes before them.
func wavFile(rate uint32, frames int, sample int16, chunks ...string) []byte {
	le := binary.LittleEndian
	body := []byte("WAVEfmt ")
	body = le.AppendUint32(body, 16)
	body = le.AppendUint16(le.AppendUint16(body, 1), 1)
	body = le.AppendUint32(le.AppendUint32(body, rate), 2*rate)
	body = le.AppendUint16(le.AppendUint16(body, 2), 16)
	for _, id := range chunks {
		body = append(le.AppendUint32(append(body, id...), 2), 0, 0)
	}
	body = le.AppendUint32(append(body, "data"...), uint32(2*frames))
	for range frames {
		body = le.AppendUint16(body, uint16(sample))
	}
	return append(le.AppendUint32([]byte("RIFF"), uint32(len(body))), body...)
}

func TestNotesOnMixes(t *testing.T) {
	for name, c := range map[string]struct {
		mixes map[string][]byte
		want  []string
	}{
		"nothing odd": {map[string][]byte{"a": wavFile(44100, 9, 1), "b": wavFile(44100, 9, 1, "JUNK")}, nil},
		"one of another rate": {map[string][]byte{"a": wavFile(48000, 9, 1), "b": wavFile(44100, 9, 1),
			"c": wavFile(48000, 9, 1)}, []string{
			"the mixes have different rates: 1 has 44100 Hz (mixes/b.wav) and 2 have 48000 Hz (first: mixes/a.wav)"}},
		"three rates": {map[string][]byte{"a": wavFile(96000, 9, 1), "b": wavFile(44100, 9, 1),
			"c": wavFile(48000, 9, 1)}, []string{
			"the mixes have different rates: 1 has 44100 Hz (mixes/b.wav), 1 has 48000 Hz (mixes/c.wav) and 1 has " +
				"96000 Hz (mixes/a.wav)"}},
		"an empty one": {
			map[string][]byte{"a": wavFile(44100, 0, 0), "b": wavFile(44100, 9, 1)},
			[]string{"mixes/a.wav is empty: it has no frames"},
		},
		"two empty": {
			map[string][]byte{"a": wavFile(44100, 0, 0), "b": wavFile(44100, 0, 0)},
			[]string{"2 mixes are empty, without a frame (first: mixes/a.wav)"},
		},
		"one of chunks": {
			map[string][]byte{"a": wavFile(44100, 9, 1), "b": wavFile(44100, 9, 1, "iXML", "cue ")},
			[]string{"mixes/b.wav has chunks that its master will not carry: cue, iXML"},
		},
		"more of chunks": {map[string][]byte{"a": wavFile(44100, 9, 1, "bext"),
			"b": wavFile(44100, 9, 1, "bext", "cue ")}, []string{
			"2 mixes have chunks that the masters will not carry: bext, cue (first: mixes/a.wav)"}},
		"many chunks": {map[string][]byte{
			"a": wavFile(44100, 9, 1, "aaaa", "bbbb", "cccc", "dddd", "eeee", "ffff", "gggg", "hhhh", "iiii", "jjjj"),
		}, []string{
			"mixes/a.wav has chunks that its master will not carry: aaaa, bbbb, cccc, dddd, eeee, ffff, gggg, " +
				"hhhh and 2 more"}},
		"beyond the ear": {map[string][]byte{"a": wavFile(352800, 9, 1)}, []string{
			"mixes/a.wav has a rate that the ear model has no windows for: its noise to mask is not measured, and " +
				"fails no requirement"}},
		"one that is no WAV": {map[string][]byte{"a": []byte("no WAV"), "b": wavFile(44100, 9, 1)}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			inFolder(t)
			for mix, file := range c.mixes {
				write(t, "mixes/"+mix+".wav", string(file))
			}
			r := mustLoad(t, mixes+"[output]\nencoding = \"float32\"\n[variant.a]\n[variant.b]\n")
			if d := cmp.Diff(c.want, r.MixNotes()); d != "" {
				t.Errorf("(-want +got):\n%s", d)
			}
		})
	}
}

func TestNotesOnFilesThatAPatternMisses(t *testing.T) {
	for name, c := range map[string]struct {
		files []string
		text  string
		want  []string
	}{
		"an extension": {
			[]string{"mixes/01.wav", "mixes/04 Pier.WAV"}, `["mixes/*.wav"]`,
			[]string{`1: mixes/04 Pier.WAV is left out: "mixes/*.wav" asks for .wav`},
		},
		"some": {
			[]string{"mixes/01.wav", "mixes/04.WAV", "mixes/05.Wav", "mixes/06.WAV"}, `["mixes/*.wav"]`,
			[]string{`1: mixes/04.WAV (and 2 more) are left out: "mixes/*.wav" asks for .wav`},
		},
		"a name": {
			[]string{"mixes/Pier 1.wav", "mixes/pier 2.wav"}, `["mixes/Pier*.wav"]`, []string{
				`1: mixes/pier 2.wav is left out: "mixes/Pier*.wav" would match but for the case of the letters`,
			},
		},
		"a folder": {
			[]string{"Side A/01.wav", "side B/02.wav"}, `["Side*/*.wav"]`, []string{
				`1: side B/02.wav is left out: "Side*/*.wav" would match but for the case of the letters`,
			},
		},
		"another sense": {[]string{"mixes/01.wav", "mixes/notes.TXT", "mixes/02.wave"}, `["mixes/*.wav"]`, nil},
		"found besides": {[]string{"mixes/01.wav", "mixes/04.WAV"}, `["mixes/*.wav", "mixes/*.WAV"]`, nil},
		"missed twice": {
			[]string{"mixes/01.wav", "mixes/04.WAV"}, `["mixes/*.wav", "mixes/0*.wav"]`,
			[]string{`1: mixes/04.WAV is left out: "mixes/*.wav" asks for .wav`},
		},
		"a folder's own": {[]string{"mixes/01.wav", "mixes/04.WAV/.keep"}, `["mixes/*.wav"]`, nil},
		"hidden":         {[]string{"mixes/01.wav", "mixes/.04.WAV"}, `["mixes/*.wav"]`, nil},
		"an output":      {[]string{"01.WAV", "01.wav"}, `["*.WAV"]` + "\noutput.folder = \".\"", nil},
	} {
		t.Run(name, func(t *testing.T) {
			inFolder(t, c.files...)
			if entries, _ := os.ReadDir(filepath.Dir(c.files[0])); name == "an output" && len(entries) < 2 {
				t.Skip("capitals do not count on this file system")
			}
			for i := range c.want {
				c.want[i] = "release.toml:" + c.want[i]
			}
			r := mustLoad(t, fmt.Sprintf("sources = %s\n[[stage]]\nkind = \"dither\"\nbits = 24\n", c.text))
			if d := cmp.Diff(c.want, r.Notes); d != "" {
				t.Errorf("(-want +got):\n%s", d)
			}
		})
	}
}
