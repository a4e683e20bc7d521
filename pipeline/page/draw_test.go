package page

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The path of a lane is its data: read back step by step it gives the values.
func TestStepsAreTheData(t *testing.T) {
	for _, v := range [][]int{{3}, {3, 3, 3}, {0, 5, -2, -2, 7, 0}, {9, 8, 9, 8, 9}} {
		for _, closed := range []bool{false, true} {
			path := steps(v, 11, closed)
			if got := columnsOf(t, path); !slices.Equal(got, v) {
				t.Errorf("%v became %s, read as %v", v, path, got)
			}
		}
	}
}

// columnsOf reads a path of the steps M h v V z, as the script does.
func columnsOf(t *testing.T, path string) (all []int) {
	t.Helper()
	y := 0
	number := func(i int) (int, int) {
		end := i + 1
		for end < len(path) && strings.ContainsRune("0123456789", rune(path[end])) {
			end++
		}
		n, err := strconv.Atoi(path[i:end])
		if err != nil {
			t.Fatal(err)
		}
		return n, end
	}
	n, i := 0, 0
	for i < len(path) {
		switch path[i] {
		case 'M':
			_, i = number(i + 1)
			y, i = number(i + 1)
		case 'h':
			n, i = number(i + 1)
			for range n {
				all = append(all, y)
			}
		case 'v':
			n, i = number(i + 1)
			y += n
		default:
			return all
		}
	}
	return all
}

// Between the samples a sine is a sine: A sin(wt), at the places asked for, within half a pixel of the
// picture.
func TestBetweenTheSamples(t *testing.T) {
	for _, cycles := range []float64{0.01, 0.1, 0.25} { // of a sample
		wave := func(at float64) float64 { return math.Sin(2*math.Pi*cycles*at + 0.7) }
		x := make([]float64, 150)
		for i := range x {
			x[i] = wave(float64(i))
		}
		for _, by := range []int{1, 2, 5} {
			got := between(x, by)
			if want := (len(x)-17)*by + 1; len(got) != want {
				t.Fatalf("%d values, want %d", len(got), want)
			}
			for k, v := range got {
				if want := wave(8 + float64(k)/float64(by)); math.Abs(v-want) > 0.004 {
					t.Errorf("%v cycles, %d times: %v at %d, want %v", cycles, by, v, k, want)
					break
				}
			}
		}
	}
}

func TestTicksAreRound(t *testing.T) {
	for _, c := range []struct {
		least, most float64
		n           int
		want        []float64
	}{
		{0, 10, 5, []float64{0, 2, 4, 6, 8, 10}}, {-1, 1, 4, []float64{-1, -0.5, 0, 0.5, 1}},
		{-36, 0, 5, []float64{-30, -20, -10, 0}}, {1, 1, 3, nil},
	} {
		if got := ticks(c.least, c.most, c.n); !slices.Equal(got, c.want) {
			t.Errorf("%v to %v: %v, want %v", c.least, c.most, got, c.want)
		}
	}
}

func TestWords(t *testing.T) {
	for got, want := range map[string]string{
		fixed(-0.001, 2): "0.00", fixed(-1.006, 2): "−1.01", signed(0.5, 1): "+0.5", signed(0.001, 2): "0.00",
		fixed(math.NaN(), 1): "none",
		clock(61.26, 1):      "1:01.3", clock(59.96, 1): "1:00.0", clock(5, 0): "0:05", share(0): "none",
		share(0.5): "50 %", share(0.0123): "1.2 %",
		hertz(630): "630 Hz", hertz(2100): "2.1 kHz", short("clip", 4): "clip", short("oversampled", 5): "over…",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	// A miss never reads as if what was found were what was wanted.
	if d := apart(-0.9997, -1); fixed(-0.9997, d) == fixed(-1, d) {
		t.Errorf("%d decimals", d)
	}
}
