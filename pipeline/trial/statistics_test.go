package trial

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.9f, want %.9f", what, got, want)
	}
}

// The sums are small whole numbers: of 16 coins 2517 of 65536 ways have 12 heads or more (1820 + 560 + 120 +
// 16 + 1).
func TestTailIsExact(t *testing.T) {
	for _, c := range []struct {
		right, n int
		ways     float64
	}{
		{12, 16, 1820 + 560 + 120 + 16 + 1}, {9, 10, 10 + 1}, {14, 16, 120 + 16 + 1}, {16, 16, 1},
		{0, 10, 1024}, {0, 0, 1},
	} {
		if got, want := Tail(c.right, c.n), c.ways/math.Pow(2, float64(c.n)); got != want {
			t.Errorf("%d of %d: %v, want %v", c.right, c.n, got, want)
		}
	}
	near(t, "12 of 16", Tail(12, 16), 0.0384064, 5e-8)
	near(t, "20 of 25", Tail(20, 25), 0.0020387, 5e-8)
	// Against the incomplete beta function, another way to the same: Abramowitz and Stegun, 26.5.24.
	for _, n := range []int{1, 7, 37, 100, 400} {
		for k := 1; k <= n; k += 1 + n/7 {
			want := mathext.RegIncBeta(float64(k), float64(n-k+1), 0.5)
			if got := Tail(k, n); math.Abs(got-want) > 1e-9*want {
				t.Errorf("%d of %d: %v, want %v", k, n, got, want)
			}
		}
	}
}

func TestTwoSided(t *testing.T) {
	near(t, "12 of 16", TwoSided(12, 16), 2*2517.0/65536, 1e-15)
	near(t, "4 of 16", TwoSided(4, 16), 2*2517.0/65536, 1e-15)
	near(t, "8 of 16", TwoSided(8, 16), 1, 0)
	near(t, "0 of 0", TwoSided(0, 0), 1, 0)
}

// An end of the interval is the share for which what was found, or more to that side, has a probability of
// 2.5 %: the definition of Clopper and Pearson. The sums are made here term by term.
func TestIntervalKeepsItsDefinition(t *testing.T) {
	above := func(k, n int, p float64) (sum float64) { // P(X >= k)
		for i := k; i <= n; i++ {
			sum += math.Exp(logChoose(n, i) + float64(i)*math.Log(p) + float64(n-i)*math.Log1p(-p))
		}
		return sum
	}
	for _, n := range []int{1, 2, 10, 16, 25, 100} {
		for k := 0; k <= n; k += 1 + n/9 {
			from, to := Interval(k, n)
			if k == 0 && from != 0 || k == n && to != 1 {
				t.Errorf("%d of %d: %v to %v", k, n, from, to)
			}
			if k > 0 {
				near(t, "above", above(k, n, from), 0.025, 1e-8)
			}
			if k < n {
				near(t, "below", 1-above(k+1, n, to), 0.025, 1e-8)
			}
		}
	}
	for _, c := range []struct {
		k, n     int
		from, to float64
	}{
		{12, 16, 0.476229, 0.927338}, {9, 10, 0.554984, 0.997471}, {14, 16, 0.616524, 0.984486},
		{20, 25, 0.592963, 0.931689}, {0, 10, 0, 0.308497},
	} {
		from, to := Interval(c.k, c.n)
		near(t, "from", from, c.from, 5e-7)
		near(t, "to", to, c.to, 5e-7)
	}
	// Of none in n the end has a closed form: (1 - p)^n = 0.025.
	_, to := Interval(0, 10)
	near(t, "0 of 10", to, 1-math.Pow(0.025, 0.1), 1e-12)
}

func logChoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}

// 37 trials are the least with a power of 0.8 for a share of 0.7. Then 38, 39 and 41 have less again; from 42
// on all have it.
func TestPower(t *testing.T) {
	if k := Needed(16); k != 12 {
		t.Errorf("%d of 16 are needed", k)
	}
	if k := Needed(37); k != 24 {
		t.Errorf("%d of 37 are needed", k)
	}
	if k := Needed(4); k != 5 {
		t.Errorf("of 4, %d: even 4 of 4 has 1/16", k)
	}
	if k := Needed(5); k != 5 {
		t.Errorf("%d of 5 are needed: 1/32", k)
	}
	for n := 1; n <= 100; n++ {
		enough := n == 37 || n == 40 || n >= 42
		if p := Power(n, 0.7); (p >= 0.8) != enough {
			t.Errorf("%d trials: power %v", n, p)
		}
	}
	near(t, "37", Power(37, 0.7), 0.807, 5e-4)
	near(t, "16", Power(16, 0.7), 0.45, 5e-3)
	// A listener who always hears it finds it whenever it can be found; one who guesses does so in 5 % at most.
	near(t, "sure", Power(16, 1), 1, 0)
	near(t, "guessing", Power(16, 0.5), Tail(12, 16), 1e-12)
}

// 1, 2, 3, 4, 5 have mean 3 and a variance of 2.5; t of 4 degrees of freedom at 97.5 % is 2.776 in every
// table.
func TestMeanInterval(t *testing.T) {
	mean, half, ok := MeanInterval([]float64{1, 2, 3, 4, 5})
	near(t, "mean", mean, 3, 1e-15)
	near(t, "half", half, 2.776*math.Sqrt(2.5/5), 5e-4)
	if !ok {
		t.Error("no interval")
	}
	if _, _, ok := MeanInterval([]float64{1}); ok {
		t.Error("an interval of one value")
	}
	for _, n := range []int{2, 3, 10, 50} { // against the library's own distribution
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(i % 2)
		}
		var mean, squares float64
		for _, v := range x {
			mean += v / float64(n)
		}
		for _, v := range x {
			squares += (v - mean) * (v - mean)
		}
		want := distuv.StudentsT{
			Mu: 0, Sigma: 1, Nu: float64(n - 1),
		}.Quantile(0.975) * math.Sqrt(squares/float64(n-1)/float64(n))
		_, half, _ := MeanInterval(x)
		near(t, "half", half, want, 1e-6*want)
	}
	if _, half, _ := MeanInterval([]float64{2, 2, 2}); half != 0 {
		t.Errorf("of equal values: %v", half)
	}
}
