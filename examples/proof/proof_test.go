package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.4f, want %.4f within %g", what, got, want, within)
	}
}

// TestHardClip: a unit sine, hard-clipped at half its amplitude. The figures are those
// measured for the comparison of alias reduction after Esqueda, Bilbao and Valimaki
// (IEEE TSP 64(20), 2016) with the same tones, length and edge: two seconds, the mean of three start
// phases, true harmonics up to 20 kHz over all else up to 20 kHz.
func TestHardClip(t *testing.T) {
	rows := []sineRow{{chain: chain{factor: 1}}}
	for tone, want := range []struct{ alias, true float64 }{{44.29, 0.223}, {25.43, 1.473}, {12.66, 3.241}} {
		if tone < 2 && !long.Wanted() { // TestHardClipAliasing of package stages has another
			continue
		}
		if err := measureTone(rows, 0, tone); err != nil {
			t.Fatal(err)
		}
		f := rows[0].tones[tone]
		near(t, fmt.Sprint(tones[tone], " Hz: alias"), f.alias, want.alias, 0.01)
		near(t, fmt.Sprint(tones[tone], " Hz: over"), f.over, 0, 1e-9)
		near(t, fmt.Sprint(tones[tone], " Hz: true"), f.true, want.true, 0.002)
	}
}

// TestPlainOversampling: the reference render is plain oversampling with ideal filters, of which
// the same comparison has figures. Which phases it took the mean of is not known. At 16 times
// the rate and the lowest tone phases spread over 0.10 dB, elsewhere over less than 0.01 dB.
func TestPlainOversampling(t *testing.T) {
	for _, c := range []struct {
		factor int
		want   [len(tones)]float64
		within [len(tones)]float64
	}{
		{2, [...]float64{58.86, 39.98, 30.96}, [...]float64{0.02, 0.02, 0.02}},
		{4, [...]float64{71.71, 52.81, 47.38}, [...]float64{0.02, 0.02, 0.02}},
		{8, [...]float64{83.94, 65.99, 59.12}, [...]float64{0.02, 0.02, 0.02}},
		{16, [...]float64{95.82, 78.31, 67.19}, [...]float64{0.1, 0.02, 0.02}},
	} {
		if c.factor != 4 && !long.Wanted() {
			continue
		}
		r := newReference(c.factor, 0.5, edgeOf(sineRate))
		for i, hz := range tones {
			phases, got := phases[:long.Or(1, len(phases))], 0.0
			for _, phase := range phases {
				got += aliasSNR(whole(r.clip(sine(hz, phase))), cycles(hz), edgeOf(sineRate)) / float64(len(phases))
			}
			near(t, fmt.Sprintf("%d times, %g Hz", c.factor, hz), got, c.want[i], c.within[i])
		}
	}
}

// TestReferenceAgainstFourierSeries: a sine A sin(wt) clipped at A/2 has a fundamental of
// 2A/pi (phi + sqrt(3)/4), phi = asin(1/2), and harmonics
// 2A/(pi n) (sin((n-1)phi)/(n-1) + sin((n+1)phi)/(n+1)) for odd n.
func TestReferenceAgainstFourierSeries(t *testing.T) {
	long.Only(t, "TestPlainOversampling has the reference against published figures")
	const hz, phase = 1244.5, 0.7
	x := sine(hz, phase)
	x = newReference(referenceFactor, 0.5, edgeOf(sineRate)).clip(x[:long.Or(sineRate, len(x))])
	x = x[sineLead : len(x)-sineLead]
	phi := math.Asin(0.5)
	series := make([]float64, len(x))
	for n := 1.0; n*hz <= audible; n += 2 {
		b := 2 / math.Pi * (phi + math.Sqrt(3)/4)
		if n > 1 {
			b = 2 / (math.Pi * n) * (math.Sin((n-1)*phi)/(n-1) + math.Sin((n+1)*phi)/(n+1))
		}
		for i := range series {
			turns := hz * float64(i+sineLead) / sineRate
			turns -= math.Floor(turns)
			series[i] += b * math.Sin(n*(2*math.Pi*turns+phase))
		}
	}
	// A harmonic between 20 kHz and half the rate is in x alone. It is far from the edge
	// by more than the ends of x let it spread.
	fade := func(x []float64) []float64 {
		for i := range x {
			x[i] *= 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(x)))
		}
		return x
	}
	off := power(fade(difference(x, series)), edgeOf(sineRate)) / power(fade(series), edgeOf(sineRate))
	// Plain oversampling by 64 is 119.7 dB from alias-free at this tone.
	if got := powerDB(off); got > -119 || got < -121 {
		t.Errorf("distance to the Fourier series %.2f dB, want about -119.7", got)
	}
}

// A sine at a quarter of the rate, sampled an eighth of a cycle from its peaks,
// shows 3.01 dB less than it has: ITU-R BS.1770-5, Annex 2, attachment 1.
func TestPeakBetweenSamples(t *testing.T) {
	const n = 4096
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Sin(math.Pi/2*float64(i) + math.Pi/4)
	}
	near(t, "sample peak", stages.DB(largest(x)), -3.0103, 1e-4)
	near(t, "true peak of whole cycles", stages.DB(newBetween(n).peak(x, 0, n)), 0, 1e-9)

	// Longer than a piece, and with a single peak, in the overlap of two.
	x = make([]float64, 3*pieceFrames+77)
	at := float64(pieceFrames-2*pieceGuard) + 0.5
	for i := range x {
		d := (float64(i) - at) / 1000
		x[i] = math.Exp(-d*d) * math.Cos(math.Pi/2*(float64(i)-at))
	}
	near(t, "true peak of a channel", truePeak(x), 1, 1e-6)
}

func TestAliasSNRCountsWhatIsNoHarmonic(t *testing.T) {
	const n, cycles = 1000, 10
	x := make([]float64, n)
	for i := range x {
		at := 2 * math.Pi * float64(i) / n
		x[i] = math.Sin(cycles*at) + 0.5*math.Cos(3*cycles*at) + // harmonics
			0.01*math.Sin(55*at) + // another bin
			0.7*math.Sin(300*at) + 0.9*math.Sin(333*at) // a harmonic and another bin beyond the edge
	}
	near(t, "alias-only SNR", aliasSNR(x, cycles, 0.25), powerDB(1.25/1e-4), 1e-6)
}

// TestPower is Parseval's theorem, for a signal that lies below the edge and one that
// lies beyond it.
func TestPower(t *testing.T) {
	x := make([]float64, 5000)
	for i := range x {
		d := (float64(i) - 2500) / 300
		x[i] = math.Exp(-d*d) * math.Cos(0.1*2*math.Pi*float64(i))
	}
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	near(t, "below the edge", power(x, 0.2)/sum, 1, 1e-9)
	near(t, "beyond it", power(x, 0.05)/sum, 0, 1e-9)
}

// A mix that stays below the ceiling, between the samples too, comes back as it was, so
// no chain removes anything or differs from the reference.
func TestProgrammeBelowTheCeiling(t *testing.T) {
	p := &programme{
		drive: 6, ceiling: -1, mixes: []*mix{
			newMix("calm", sineRate, stages.Block{sine(1000, 0.3)[:long.Or(4500, 9000)]}, -10, -1),
		},
	}
	rows, err := p.measure()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if !math.IsInf(r.removed, -1) || !math.IsInf(r.distance, -1) || r.clamped != 0 {
			t.Errorf("%+v: removed %v dB, distance %v dB, %d clamped; want nothing", r.chain, r.removed, r.distance,
				r.clamped)
		}
		near(t, "over", r.over, -9, 0.01)
	}
}

// A square wave, twice as high as the ceiling, loses half of itself to a hard clip.
func TestProgrammeRemoved(t *testing.T) {
	x := make([]float64, long.Or(4500, 9000))
	for i := range x {
		x[i] = 0.5 - float64(i/50%2)
	}
	ceiling := stages.DB(0.5)
	p := &programme{
		ceiling: ceiling, mixes: []*mix{newMix("square", sineRate, stages.Block{x}, stages.DB(2), ceiling)},
	}
	near(t, "beyond the ceiling", p.mixes[0].beyond, 1, 0)
	rows, err := p.measure()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "removed by hard_clip", rows[0].removed, stages.DB(0.5), 1e-9)
	near(t, "over after hard_clip", rows[0].over, 0, 1e-9)
}

// Every line of a table is as long as its head.
func TestTablesLineUp(t *testing.T) {
	var sines, programmes bytes.Buffer
	sineRows, programmeRows := make([]sineRow, 0), make([]programmeRow, 0)
	for _, c := range chains() {
		f := sineFigures{alias: 123.456, over: -0.0061, true: 3.2412}
		sineRows = append(sineRows, sineRow{c, [len(tones)]sineFigures{f, f, f}})
		programmeRows = append(programmeRows, programmeRow{
			chain: c, distance: -127.66, removed: math.Inf(-1), clamped: 12345,
		})
	}
	printSines(&sines, sineRows)
	printProgramme(&programmes, &programme{drive: 5, ceiling: -1, seconds: 10}, programmeRows)
	for _, table := range []string{sines.String(), programmes.String()} {
		lines := strings.Split(table[strings.Index(table, "\nclip")+1:], "\n")
		for _, line := range lines {
			if line != "" && len(line) != len(lines[0]) {
				t.Errorf("%d columns, not the head's %d: %q", len(line), len(lines[0]), line)
			}
		}
		if n := strings.Count(table, "band_limited"); n < len(factors) {
			t.Errorf("%d rows of a band-limited hold, want %d", n, len(factors))
		}
	}
}

// TestBetweenIsFourier: the values between those of the transform are those of a transform padded with zeros
// to 32 times its length, in white noise too.
func TestBetweenIsFourier(t *testing.T) {
	const n = 4096
	r := rand.New(rand.NewPCG(1, 2))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	dense := make([]complex128, fine*n/2+1)
	copy(dense, fourier.NewFFT(n).Coefficients(nil, x))
	dense[n/2] /= 2 // half the rate is as much +half as -half
	want := largest(fourier.NewFFT(fine*n).Sequence(nil, dense)) / n
	near(t, "dB off", stages.DB(newBetween(n).peak(x, 0, n)/want), 0, 1e-4)
}

// TestTruePeakBelow: a low-pass filter leaves a tone below its edge, and nothing of one at half the rate.
func TestTruePeakBelow(t *testing.T) {
	x := make([]float64, 30000)
	for i := range x {
		x[i] = math.Sin(0.3*float64(i)+1) + float64(1-2*(i%2))
	}
	for i := range 4000 {
		g := 0.5 - 0.5*math.Cos(math.Pi*float64(i)/4000)
		x[i] *= g
		x[len(x)-1-i] *= g
	}
	near(t, "true peak", truePeakBelow(x, converterEdge), 1, 1e-3)
}

// TestAliasing: what a hard clip does to a tone with few harmonics is heard, and what an oversampled one does
// is not.
func TestAliasing(t *testing.T) {
	row, err := heard("", sineFormat, stages.Block{sine(4978, 0.1)[:44100]}, sineCeiling)
	if err != nil {
		t.Fatal(err)
	}
	hard, eight := row.clips[0], row.clips[len(row.clips)-1]
	if hard.disturbed < 90 || hard.toMask < 0 {
		t.Errorf("hard_clip: %+v", hard)
	}
	if eight.disturbed != 0 || eight.toMask > -60 {
		t.Errorf("oversampled_clip 8: %+v", eight)
	}
}
