package trial

import (
	"math"
	"math/big"

	"gonum.org/v1/gonum/mathext"
)

// Alpha is the probability below which what was found is taken for no accident: the usual 5 %.
const Alpha = 0.05

// Confidence is how often intervals made like those here hold the true value.
const Confidence = 0.95

// SupposedRight is the share of right answers for which the power is told: a listener who hears a small
// difference.
const SupposedRight = 0.7

// Tail is the probability that guessing gets right or more of n answers right, where each is one of two:
// the sum of C(n, k) / 2^n for k = right to n, in whole numbers. It is 1 for 0 of n.
func Tail(right, n int) float64 {
	sum := new(big.Int)
	for k := max(right, 0); k <= n; k++ {
		sum.Add(sum, new(big.Int).Binomial(int64(n), int64(k)))
	}
	p, _ := new(big.Rat).SetFrac(sum, new(big.Int).Lsh(big.NewInt(1), uint(n))).Float64()
	return p
}

// TwoSided is the probability that a fair coin falls as unevenly as k of n or more so, to either side.
func TwoSided(k, n int) float64 { return min(1, 2*Tail(max(k, n-k), n)) }

// Interval holds the true share of k in n with Confidence: C. J. Clopper and E. S. Pearson, "The use of
// confidence or fiducial limits illustrated in the case of the binomial", Biometrika 26 (1934). Its ends are
// quantiles of the beta distribution; n is 1 or more.
func Interval(k, n int) (from, to float64) {
	const each = (1 - Confidence) / 2
	to = 1
	if k > 0 {
		from = mathext.InvRegIncBeta(float64(k), float64(n-k+1), each)
	}
	if k < n {
		to = mathext.InvRegIncBeta(float64(k+1), float64(n-k), 1-each)
	}
	return from, to
}

// Needed is the least number of right answers in n that guessing reaches with a probability of Alpha at most;
// n + 1 where none does.
func Needed(n int) int {
	k := n + 1
	for k > 0 && Tail(k-1, n) <= Alpha {
		k--
	}
	return k
}

// Power is the probability that a listener who is right with probability share gets as many right in n as are
// Needed.
func Power(n int, share float64) float64 {
	k := Needed(n)
	if k > n {
		return 0
	}
	return mathext.RegIncBeta(float64(k), float64(n-k+1), share)
}

// MeanInterval is the mean of x and the half width of its interval with Confidence by Student's t ("The
// probable error of a mean", Biometrika 6 (1908)): what is measured should be spread about evenly to both
// sides. Of fewer than two there is no interval: ok is false.
func MeanInterval(x []float64) (mean, half float64, ok bool) {
	for _, v := range x {
		mean += v
	}
	n := float64(len(x))
	mean /= max(n, 1)
	if len(x) < 2 {
		return mean, 0, false
	}
	var squares float64
	for _, v := range x {
		squares += float64((v - mean) * (v - mean))
	}
	freedom := n - 1
	// P(|T| > t) = I_x(freedom/2, 1/2) with x = freedom / (freedom + t²): Abramowitz and Stegun, 26.7.1.
	at := mathext.InvRegIncBeta(freedom/2, 0.5, 1-Confidence)
	t := math.Sqrt(float64(freedom * (1/at - 1)))
	return mean, float64(t * math.Sqrt(squares/freedom/n)), true
}
