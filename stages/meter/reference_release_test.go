//go:build reference

package meter

import (
	"bytes"
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"ledgerline/stages"
)

// mixRate is the rate of the example release's mixes, which are stereo files of 24 bits.
const mixRate = 44100

// mixes are the example release's, by name. They are read here rather than by
// the package that reads a user's files, which lies above this one.
func mixes(t *testing.T) (names []string, audio []stages.Block) {
	t.Helper()
	paths, err := filepath.Glob("../../examples/night-ferry/mixes/*.wav")
	if err != nil || len(paths) != 3 {
		t.Fatalf("mixes %q, %v; want three", paths, err)
	}
	for _, path := range paths {
		file, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, filepath.Base(path))
		audio = append(audio, mix(t, file))
	}
	return names, audio
}

// mix decodes one: its only format chunk at the start, and a data chunk.
func mix(t *testing.T, file []byte) stages.Block {
	t.Helper()
	le := binary.LittleEndian
	at := bytes.Index(file, []byte("data")) + 8
	if at < 44 || le.Uint16(file[22:]) != 2 || le.Uint32(file[24:]) != mixRate || le.Uint16(file[34:]) != 24 {
		t.Fatalf("a header of % x; want stereo, %d Hz, 24 bits", file[:44], mixRate)
	}
	pcm := file[at:][:le.Uint32(file[at-4:])]
	b := stages.NewBlock(2, len(pcm)/6)
	for i := range b.Frames() * 2 {
		v := int32(pcm[3*i])<<8 | int32(pcm[3*i+1])<<16 | int32(pcm[3*i+2])<<24
		b[i%2][i/2] = float64(v) / (1 << 31)
	}
	return b
}

// TestReleaseAgainstLibebur128 reads each mix of the example release, and all of them one after
// the other, as they are: here the library's own numerator of the high-pass, 0.004 dB, is part of
// what may differ. Both maxima are taken every 10 ms; the library's range takes a window a second,
// and so does the meter's that is held against it.
func TestReleaseAgainstLibebur128(t *testing.T) {
	names, audio := mixes(t)
	whole := stages.NewBlock(2, 0)
	for _, b := range audio {
		whole = whole.Append(b)
	}
	for i, b := range append(audio, whole) {
		t.Run(append(names, "all of them")[i], func(t *testing.T) {
			want := referenceOf(t, b, mixRate)
			m := New(Options{Rate: mixRate, Weights: ones(2)})
			m.Write(b)
			got := m.Reading()
			t.Logf("integrated %+.4f, momentary %+.4f, short-term %+.4f, range %+.4f, a window a second %+.4f from "+
				"the library's %.2f LUFS, %.2f, %.2f, %.2f LU",
				got.Integrated-want.integrated, got.MaxMomentary-want.momentary, got.MaxShortTerm-want.shortTerm,
				got.Range-want.spread, spreadOf(everySecond(m))-want.coarse, want.integrated, want.momentary,
				want.shortTerm, want.coarse)
			near(t, "integrated", got.Integrated, want.integrated, 0.01)
			near(t, "momentary", got.MaxMomentary, want.momentary, 0.05)
			near(t, "short-term", got.MaxShortTerm, want.shortTerm, 0.05)
			near(t, "range", got.Range, want.spread, 0.1)
			near(t, "range, one window a second", spreadOf(everySecond(m)), want.coarse, 0.1)
			if got.SamplePeak != want.samplePeak {
				t.Errorf("sample peak %g, want %g", got.SamplePeak, want.samplePeak)
			}
		})
	}
}
