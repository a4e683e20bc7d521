package meter

import (
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// tenAndForty is 10 s of a 997 Hz sine in two channels at one loudness and 40 s
// of it at another: by the calibration of BS.1770-5 Annex 1, a sine of amplitude
// A in both reads 20 log10 A LUFS.
func tenAndForty(loud, quiet float64) stages.Block {
	const rate = 48000
	x := make([]float64, 50*rate)
	tone(x[:10*rate], stages.Linear(loud), 997.0/rate, 0)
	tone(x[10*rate:], stages.Linear(quiet), 997.0/rate, 0)
	return same(x, 2)
}

// heard is a meter that was fed b.
func heard(b stages.Block) *Meter {
	m := loudnessMeter(48000, ones(len(b)))
	m.Write(b)
	return m
}

// 10 s at -14 LUFS and 40 s at -31: the relative gate, 10 LU below the mean of
// all, lies at -30.6 (BS.1770-5 Annex 1 eq. (6) and (7)), so that the quiet part
// does not count. A clip that lowers only the loud part lowers the gate and
// admits the quiet part: the integrated loudness drops by more than 6 LU. The
// blocks that counted before lost what a clip takes from a sine.
func TestLoudnessChangeWhereTheGateMoves(t *testing.T) {
	before := tenAndForty(-14, -31)
	after := tenAndForty(-14, -31)
	clip(after, stages.Linear(-14)*0.8)
	b, a := heard(before), heard(after)
	if by := a.Reading().Integrated - b.Reading().Integrated; !(by < -6) {
		t.Fatalf("integrated loudness changed by %.2f LU: the gate did not move", by)
	}
	// The blocks that count reach 300 ms into the quiet part: within 0.01 LU of
	// the sine's own change.
	near(t, "loudness change", LoudnessChange(b, a), clippedSine(0.8), 0.01)
	// And the same the other way round: what passes at the louder side's input
	// is another set of blocks.
	if up := LoudnessChange(a, b); !(up > 0 && up < 1) {
		t.Errorf("from the clipped signal to the other: %.4f LU", up)
	}
}

// clippedSine is by how much, in LU, a 997 Hz sine at 48 kHz gets quieter when it
// is clipped at a share of its amplitude: the power of its Fourier series, whose
// coefficients are (4/pi) times the integral of the clipped sine times sin(nx)
// over a quarter of a period, n odd, each weighted by the K-weighting's gain.
func clippedSine(share float64) float64 {
	const points = 20000
	power := 0.0
	for n := 1.0; n*997 < 24000; n += 2 {
		var sum float64
		for i := range points {
			x := (float64(i) + 0.5) / points * math.Pi / 2
			sum += min(share, math.Sin(x)) * math.Sin(n*x)
		}
		amplitude := 2 * sum / points
		power += amplitude * amplitude * math.Pow(10, (gainDB(48000, n*997)-gainDB(48000, 997))/10)
	}
	return 10 * math.Log10(power)
}

// Where the same blocks pass the gates on both sides, the change is the
// difference of the integrated loudnesses, exactly; and a gain's is the gain,
// also where it lifts blocks over the absolute gate.
func TestLoudnessChangeIsTheDifferenceOfIntegrated(t *testing.T) {
	x := programme(48000, long.Or(3.0, 6), 3)
	clipped, lifted := stages.NewBlock(len(x), 0).Append(x), stages.NewBlock(len(x), 0).Append(x)
	clip(clipped, 0.7)
	scale(lifted, 4)
	b, a := heard(x), heard(clipped)
	if got, want := LoudnessChange(b, a), a.Reading().Integrated-b.Reading().Integrated; got != want ||
		got == 0 {
		t.Errorf("clipped: %v, integrated changed by %v", got, want)
	}
	near(t, "four times", LoudnessChange(b, heard(lifted)), 20*math.Log10(4), 1e-9)
	if got := LoudnessChange(b, b); got != 0 {
		t.Errorf("to itself: %v", got)
	}
	quiet := heard(tenAndForty(-60, -75))
	near(t, "over the absolute gate", LoudnessChange(quiet, heard(tenAndForty(-40, -55))), 20, 1e-9)
}

func TestLoudnessChangeOfSilence(t *testing.T) {
	long.Only(t, "TestLoudnessChangeIsTheDifferenceOfIntegrated has what is gated")
	sound, none := heard(tenAndForty(-14, -31)), heard(stages.NewBlock(2, 50*48000))
	if got := LoudnessChange(sound, none); !math.IsInf(got, -1) {
		t.Errorf("into silence: %v", got)
	}
	if got := LoudnessChange(none, sound); !math.IsNaN(got) {
		t.Errorf("out of silence: %v", got)
	}
	short := heard(stages.NewBlock(2, 4800))
	if got := LoudnessChange(short, short); !math.IsNaN(got) {
		t.Errorf("of less than a block: %v", got)
	}
}

// The change is the same whatever the block length, and asking disturbs nothing.
func TestLoudnessChangeByAnyBlocks(t *testing.T) {
	x, y := programme(44100, 3, 5), programme(44100, 3, 5)
	clip(y, 0.6)
	whole := func(b stages.Block, length int) *Meter {
		m := New(Options{Rate: 44100, Weights: ones(2)})
		for from := 0; from < b.Frames(); from += length {
			part := stages.Block{}
			for _, c := range b {
				part = append(part, c[from:min(len(c), from+length)])
			}
			m.Write(part)
		}
		return m
	}
	b, a := whole(x, 1<<20), whole(y, 1<<20)
	want := LoudnessChange(b, a)
	if got := LoudnessChange(whole(x, 1023), whole(y, 4097)); got != want {
		t.Errorf("%v in other blocks, want %v", got, want)
	}
	if got := LoudnessChange(b, a); got != want {
		t.Errorf("%v when asked again, want %v", got, want)
	}
}

func TestLoudnessChangePanicsAtOtherLengths(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("two lengths were compared")
		}
	}()
	LoudnessChange(heard(stages.NewBlock(2, 48000)), heard(stages.NewBlock(2, 47000)))
}
