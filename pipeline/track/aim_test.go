package track

import (
	"math"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

func use(kind string, s stages.Settings) stages.Use {
	k, _ := stages.KindNamed(kind)
	k.Fill(s)
	return stages.Use{Name: kind, Kind: kind, Settings: s}
}

// The room below a ceiling of magnitude 1 is that of so many codes, as worked out by hand.
func TestRoomForRounding(t *testing.T) {
	dither := func(bits int64, density string) stages.Use {
		return use("dither", stages.Settings{"bits": bits, "density": density})
	}
	gain := func(db float64) stages.Use { return use("gain", stages.Settings{"gain_db": db}) }
	for _, c := range []struct {
		name     string
		chain    []stages.Use
		encoding audiofile.Encoding
		true, of float64 // codes for the true peak and for samples
		bits     int     // of the codes
	}{
		{"nothing rounds", nil, audiofile.Float64, 0, 0, 16},
		{"triangular", []stages.Use{dither(16, "triangular")}, audiofile.PCM16, 2.5, 1.5, 16},
		{"rectangular", []stages.Use{dither(16, "rectangular")}, audiofile.PCM16, 5 / math.Sqrt(6), 1, 16},
		{"no dither", []stages.Use{dither(16, "none")}, audiofile.PCM16, 5 / math.Sqrt(12), 0.5, 16},
		{"the file's words", nil, audiofile.PCM16, 5 / math.Sqrt(12), 0.5, 16},
		{"words that fit the file", []stages.Use{dither(16, "triangular")}, audiofile.PCM24, 2.5, 1.5, 16},
		{"words that do not", []stages.Use{dither(17, "none")}, audiofile.PCM16, 1.5 * 5 / math.Sqrt(12), 0.75, 16},
		{"twice", []stages.Use{dither(16, "triangular"), dither(16, "triangular")}, audiofile.PCM16, 5, 3, 16},
		{"turned down far", []stages.Use{gain(-6), dither(16, "triangular")}, audiofile.PCM16, 0, 0, 16},
	} {
		for _, truePeak := range []bool{true, false} {
			codes := c.of
			if truePeak {
				codes = c.true
			}
			want := -20 * math.Log10(1-codes/float64(int(1)<<(c.bits-1)))
			if got := roomFor(1, c.chain, c.encoding, truePeak); math.Abs(got-want) > 1e-12 {
				t.Errorf("%s, true peak %v: %v dB, want %v", c.name, truePeak, got, want)
			}
		}
	}
	if got := roomFor(stages.Linear(-60), []stages.Use{dither(8, "triangular")}, audiofile.PCM16,
		true); got != maxRoomDB {
		t.Errorf("8 bits at -60 dBFS: %v dB", got)
	}
}

// A promise ends at the first stage that may raise peaks on purpose, and not every hold makes one.
func TestWhereAPromiseEnds(t *testing.T) {
	hold := func(peak, method string) stages.Use {
		return use("ceiling_hold", stages.Settings{"ceiling_dbfs": -1.0, "peak": peak, "method": method})
	}
	ends := func(chain ...stages.Use) (ends []int) {
		for _, a := range newAims(chain, audiofile.PCM24) {
			ends = append(ends, a.end)
		}
		return ends
	}
	measure, dither := use("measure", stages.Settings{}), use("dither", stages.Settings{"bits": int64(24)})
	down, up := use("gain", stages.Settings{"gain_db": -1.0}), use("gain", stages.Settings{"gain_db": 0.5})
	clip := use("hard_clip", stages.Settings{"ceiling_dbfs": -1.0})
	for _, c := range []struct {
		name  string
		chain []stages.Use
		want  []int
	}{
		{"alone", []stages.Use{hold("true", "band_limited")}, []int{1}},
		{"to the end", []stages.Use{clip, hold("true", "band_limited"), dither, down, measure}, []int{5}},
		{"turned up", []stages.Use{hold("true", "band_limited"), measure, up, dither}, []int{2}},
		{"clipped", []stages.Use{hold("true", "band_limited"), clip}, []int{1}},
		{"two", []stages.Use{hold("true", "band_limited"), hold("sample", "band_limited"), dither}, []int{1, 3}},
		{"plain", []stages.Use{hold("true", "plain"), dither}, nil},
	} {
		got := ends(c.chain...)
		if len(got) != len(c.want) || len(got) > 0 && got[0] != c.want[0] || len(got) > 1 && got[1] != c.want[1] {
			t.Errorf("%s: promises end at %v, want %v", c.name, got, c.want)
		}
	}
}
