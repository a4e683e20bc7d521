package stages_test

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

// resampleTo makes stages that resample to a rate from whatever they are fed.
func resampleTo(t testing.TB, rate int) stagetest.Maker {
	return func(f stages.Format) stages.Stage {
		s, err := stages.Build("resample", f, stages.Settings{"rate_hz": int64(rate)})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
}

// resampled is one channel at another rate.
func resampled(t testing.TB, x []float64, from, to int) []float64 {
	return stagetest.Render(resampleTo(t, to)(stages.Format{Rate: from, Channels: 1}), stages.Block{x})[0]
}

// changes of rate: steps by half and double, up and down, near and far, and the largest terms.
var changes = [][2]int{
	{44100, 48000}, {48000, 44100}, {44100, 88200}, {88200, 44100}, {96000, 44100}, {44100, 192000},
	{192000, 44100},
	{8000, 384000}, {384000, 8000}, {20000, 19990}, {47976, 48000},
}

func TestResampleSuite(t *testing.T) {
	all := [][2]int{{44100, 48000}, {96000, 44100}, {48000, 44100}, {44100, 88200}, {88200, 44100}}
	for _, r := range long.Or(all[1:2], all) {
		t.Run(fmt.Sprint(r[0], " to ", r[1]), func(t *testing.T) {
			ratio := max(1, float64(r[0])/float64(r[1]))
			stagetest.Suite(t, resampleTo(t, r[1]), stagetest.Options{
				Rate: r[0], OutRate: r[1], HoldBack: int(1750*ratio) + 1, Reach: int(2048 * ratio),
			})
		})
	}
	t.Run("equal rates", func(t *testing.T) { stagetest.Suite(t, resampleTo(t, 44100), stagetest.Options{}) })
}

// sineAt is a sine at times counted from frame 0, in cycles a second.
func sineAt(frames, rate int, hz float64) []float64 {
	x := make([]float64, frames)
	for i := range x {
		_, part := math.Modf(hz * float64(i) / float64(rate))
		x[i] = math.Sin(2 * math.Pi * part)
	}
	return x
}

// far is how many frames of the lower rate a tone's sudden start and end are heard in the filter.
const far = 130

// middle is the part of y, at a rate, that neither end of the track is heard in.
func middle(y []float64, rate, lower int) (from, to int) {
	n := far*rate/lower + 1
	return n, len(y) - n
}

// worst is the largest magnitude of a difference, dB.
func worst(got, want []float64) float64 {
	most := 0.0
	for i, x := range got {
		most = max(most, math.Abs(x-want[i]))
	}
	return 20 * math.Log10(most)
}

// A sine comes out as the same sine at the other rate's moments, which is a closed form. What differs is
// images, aliases, ripple and rounding together: none is above -150 dB.
func TestResampledSineIsTheSine(t *testing.T) {
	for _, r := range changes {
		t.Run(fmt.Sprint(r[0], " to ", r[1]), func(t *testing.T) {
			lower := min(r[0], r[1])
			pass := 20000.0 / 44100 * float64(lower)
			for _, hz := range []float64{0.0001 * pass, 0.1237 * pass, 0.501 * pass, 0.87 * pass, pass} {
				x := sineAt(r[0]*900/lower, r[0], hz)
				y := resampled(t, x, r[0], r[1])
				from, to := middle(y, r[1], lower)
				if db := worst(y[from:to], sineAt(len(y), r[1], hz)[from:to]); db > -150 {
					t.Errorf("%.1f Hz: %.1f dB from the sine, want -150 or less", hz, db)
				}
			}
		})
	}
}

// What the lower of both rates cannot carry is gone: it would be an alias.
func TestResampleLeavesNoAliases(t *testing.T) {
	for _, r := range changes {
		if r[1] >= r[0] {
			continue
		}
		for _, f := range []float64{0.5, 0.503, 0.55, 0.7, 0.96, 1.003, 1.4, 1.5, 1.9, 2, 2.1, 3.7} {
			hz := f*float64(r[1]) + 0.37
			if hz > 0.4999*float64(r[0]) {
				continue
			}
			y := resampled(t, sineAt(r[0]*900/r[1], r[0], hz), r[0], r[1])
			from, to := middle(y, r[1], r[1])
			if db := worst(y[from:to], make([]float64, to-from)); db > -150 {
				t.Errorf("%d to %d: %.1f Hz becomes %.1f dB, want -150 or less", r[0], r[1], hz, db)
			}
		}
	}
}

// Images of what a rate carries above the pass band are gone too: the spectrum above half the lower rate is
// empty.
func TestResampleLeavesNoImages(t *testing.T) {
	rates := [][2]int{{44100, 48000}, {44100, 88200}, {44100, 96000}}
	for _, r := range rates[:long.Or(2, 3)] {
		for _, hz := range long.Or([]float64{19000, 22000}, []float64{5000, 19000, 20900, 21500, 22000}) {
			y := resampled(t, sineAt(r[0], r[0], hz), r[0], r[1])
			for _, image := range []float64{44100 - hz, 44100 + hz, 88200 - hz} {
				for image > float64(r[1])/2 {
					image = math.Abs(image - float64(r[1]))
				}
				if math.Abs(image-hz) < 100 {
					continue
				}
				if db := levelAt(y[4000:len(y)-4000], image/float64(r[1])); db > -150 {
					t.Errorf("%d to %d: %v Hz has an image at %.0f Hz of %.1f dB, want -150 or less", r[0], r[1], hz,
						image, db)
				}
			}
		}
	}
}

// levelAt is the level of a sine of so many cycles a frame in y.
func levelAt(y []float64, cycles float64) float64 {
	var re, im, sum float64
	for i, x := range y {
		w := window7(i, len(y))
		_, part := math.Modf(cycles * float64(i))
		re += w * x * math.Cos(2*math.Pi*part)
		im += w * x * math.Sin(2*math.Pi*part)
		sum += w
	}
	return 20 * math.Log10(2*math.Hypot(re, im)/sum)
}

// window7 is the window of seven cosine terms with side lobes of -180 dB (H.-H. Albrecht, "A family of
// cosine-sum windows for high-resolution measurements", ICASSP 2001; coefficients from memory, and the test
// fails if they are wrong).
func window7(i, n int) float64 {
	t, w := 2*math.Pi*(float64(i)+0.5)/float64(n), 0.0
	for k, a := range []float64{
		0.271220360585039, -0.433444612327442, 0.218004122892930, -0.065785343295606, 0.010761867305342,
		-0.000770012710581, 0.000013680883060,
	} {
		w += a * math.Cos(float64(k)*t)
	}
	return w
}

// A constant is passed as it is, without images.
func TestResamplePassesAConstant(t *testing.T) {
	for _, r := range changes {
		lower := min(r[0], r[1])
		x := slices.Repeat([]float64{1}, max(r[0], r[1])*900/lower)
		y := resampled(t, x[:r[0]*900/lower], r[0], r[1])
		from, to := middle(y, r[1], lower)
		if db := worst(y[from:to], x[:to-from]); db > -150 {
			t.Errorf("%d to %d: %.1f dB from the constant, want -150 or less", r[0], r[1], db)
		}
	}
}

// An impulse comes out symmetric about its own moment: the phase is linear, and nothing is shifted.
func TestResampledImpulseIsSymmetric(t *testing.T) {
	for _, r := range changes {
		up, down, err := stages.Ratio(r[0], r[1])
		if err != nil {
			t.Fatal(err)
		}
		lower := min(r[0], r[1])
		reach := far * r[1] / lower
		// Frame down*k in is frame up*k out.
		k := max(1, (far*r[0]/lower+down)/down)
		x := make([]float64, 2*down*k+far*r[0]/lower)
		x[down*k] = 1
		y := resampled(t, x, r[0], r[1])
		for i := 1; i <= min(reach, up*k); i++ {
			if d := y[up*k-i] - y[up*k+i]; math.Abs(d) > 1e-13 {
				t.Errorf("%d to %d: %d frames to either side there are %v and %v", r[0], r[1], i, y[up*k-i], y[up*k+i])
				break
			}
		}
	}
}

// A step comes out the same, turned, to either side of its moment, which is half a frame before its first
// frame that is 1.
func TestResampledStepIsSymmetric(t *testing.T) {
	for _, r := range changes {
		up, down, err := stages.Ratio(r[0], r[1])
		if err != nil {
			t.Fatal(err)
		}
		if down%2 == 0 {
			continue // no frame goes out as far on one side as another on the other
		}
		lower := min(r[0], r[1])
		odd := 2*(far*r[0]/lower/down) + 3
		first := (odd*down + 1) / 2 // twice its moment is odd*down frames in, and odd*up out
		x := make([]float64, 4*first)
		for i := first; i < len(x); i++ {
			x[i] = 1
		}
		y := resampled(t, x, r[0], r[1])
		for i := (odd + 1) / 2 * up; i < min(odd*up, (odd+1)/2*up+far*r[1]/lower); i++ {
			if d := y[i] + y[odd*up-i] - 1; math.Abs(d) > 3e-8 || i == (odd+1)/2*up && y[i] < 0.4 {
				t.Errorf("%d to %d: frames %d and %d are %v and %v", r[0], r[1], odd*up-i, i, y[odd*up-i], y[i])
				break
			}
		}
	}
}

// Up and back again is what it was, in the pass band.
func TestResampleUpAndBack(t *testing.T) {
	for _, r := range [][2]int{{44100, 48000}, {44100, 88200}, {44100, 96000}, {48000, 192000}} {
		pass := 20000.0 / 44100 * float64(r[0])
		x := make([]float64, 4000)
		for i := range 20 {
			for n, v := range sineAt(len(x), r[0], pass*(float64(i)+0.99)/20) {
				x[n] += v / 20
			}
		}
		y := resampled(t, resampled(t, x, r[0], r[1]), r[1], r[0])
		if len(y) < len(x) || len(y) > len(x)+1 {
			t.Fatalf("%d to %d and back: %d frames became %d", r[0], r[1], len(x), len(y))
		}
		if db := worst(y[2*far:len(x)-2*far], x[2*far:len(x)-2*far]); db > -140 {
			t.Errorf("%d to %d and back: %.1f dB, want -140 or less", r[0], r[1], db)
		}
	}
}

func TestResampleRefusesRatesThatNoSimpleRatioReaches(t *testing.T) {
	s := stages.Settings{"rate_hz": int64(43999)}
	_, err := stages.Build("resample", stages.Format{Rate: 44100, Channels: 1}, s)
	if err == nil || !strings.Contains(err.Error(), "44100 to 43999") {
		t.Errorf("44100 to 43999 Hz: %v", err)
	}
}

func TestFramesAt(t *testing.T) {
	for _, c := range [][4]int64{ // by hand: frames, from, to, and the number rounded up
		{0, 44100, 48000, 0}, {1, 44100, 48000, 2}, {147, 44100, 48000, 160}, {148, 44100, 48000, 162},
		{1, 96000, 48000, 1}, {3, 96000, 48000, 2}, {320, 96000, 44100, 147}, {5, 48000, 48000, 5},
		{1 << 40, 44100, 192000, 4786989399842}, // 2^40 * 640/147 = 4786989399841.09
	} {
		if got := stages.FramesAt(c[0], int(c[1]), int(c[2])); got != c[3] {
			t.Errorf("%d frames at %d Hz are %d at %d, want %d", c[0], c[1], got, c[2], c[3])
		}
	}
}

// TestResampleBits holds the bits of what comes out: they are the same on every processor. A change of them
// changes masters.
func TestResampleBits(t *testing.T) {
	h := sha256.New()
	for _, r := range changes {
		x := make([]float64, r[0]*5000/min(r[0], r[1]))
		for i := range x {
			x[i] = math.Mod(0.618033988749895*float64(i*i%8191), 1) - 0.5
		}
		for _, v := range resampled(t, x, r[0], r[1]) {
			binary.Write(h, binary.LittleEndian, v)
		}
	}
	const want = "9f0b2e40e54aa9d3673b78b81aa6397ff0cd89582930263ab6c5206317e693a1"
	if got := hex.EncodeToString(h.Sum(nil)); got != want {
		t.Errorf("the bits have the hash %s, not %s", got, want)
	}
}
