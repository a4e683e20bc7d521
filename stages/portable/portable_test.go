package portable

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// functions are what the package has, each with the standard library's, the range in which they are compared,
// and how many units in the last place of the result the two may differ: each is within one of the truth.
var functions = []struct {
	name      string
	got, want func(float64) float64
	from, to  float64
	units     float64
}{
	{"Exp", Exp, math.Exp, -700, 700, 2},
	{"Exp near 0", Exp, math.Exp, -1e-3, 1e-3, 2},
	{"Exp10", Exp10, bigExp10, -300, 300, 1},
	{"Exp10 of levels", Exp10, bigExp10, -7, 7, 1},
	{"Log", Log, math.Log, 1e-3, 1e3, 2},
	{"Log near 1", Log, math.Log, 0.9, 1.1, 2},
	{"Log10", Log10, math.Log10, 1e-3, 1e3, 3},
	{"SinPi", SinPi, func(t float64) float64 { return math.Sin(math.Pi * t) }, 0.001, 0.5, 3},
	{"CosPi", CosPi, func(t float64) float64 { return math.Cos(math.Pi * t) }, -0.25, 0.25, 3},
	{"TanPi", TanPi, func(t float64) float64 { return math.Tan(math.Pi * t) }, 0.001, 0.25, 4},
}

func TestAgainstTheStandardLibrary(t *testing.T) {
	for _, f := range functions {
		random := rand.New(rand.NewPCG(1, 2))
		worst, at := 0.0, 0.0
		for range long.Or(2000, 20000) {
			x := math.FMA(f.to-f.from, random.Float64(), f.from)
			got, want := f.got(x), f.want(x)
			unit := math.Nextafter(math.Abs(want), math.Inf(1)) - math.Abs(want)
			if by := math.Abs(got-want) / unit; by > worst {
				worst, at = by, x
			}
		}
		t.Logf("%s: %.2f", f.name, worst)
		if !(worst <= f.units) {
			t.Errorf("%s(%v) is %v units from the standard library's", f.name, at, worst)
		}
	}
}

// bigExp10 is 10^x by the power series of e^y in 160 bits.
func bigExp10(x float64) float64 {
	const bits, halvings = 160, 12
	ln10, _, err := big.ParseFloat("2.30258509299404568401799145468436420760110148862877297603332790", 10, bits,
		big.ToNearestEven)
	if err != nil {
		panic(err)
	}
	y := new(big.Float).SetPrec(bits).SetFloat64(x)
	y.Mul(y, ln10)
	y.SetMantExp(y, -halvings)
	sum, term := new(big.Float).SetPrec(bits).SetInt64(1), new(big.Float).SetPrec(bits).SetInt64(1)
	for k := int64(1); k < 40; k++ {
		term.Mul(term, y)
		term.Quo(term, new(big.Float).SetInt64(k))
		sum.Add(sum, term)
	}
	for range halvings {
		sum.Mul(sum, sum)
	}
	v, _ := sum.Float64()
	return v
}

func TestExactValues(t *testing.T) {
	for n := -22; n <= 22; n++ {
		if n >= 0 && Exp10(float64(n)) != math.Pow10(n) {
			t.Errorf("10^%d is %v", n, Exp10(float64(n)))
		}
		if got := Log10(math.Pow10(n)); n >= 0 && got != float64(n) {
			t.Errorf("log10 of 10^%d is %v", n, got)
		}
	}
	inf := math.Inf(1)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"e^0", Exp(0), 1}, {"e^inf", Exp(inf), inf}, {"e^-inf", Exp(-inf), 0}, {"10^0", Exp10(0), 1},
		{"10^-1", Exp10(-1), 0.1}, {"10^400", Exp10(400), inf}, {"10^-400", Exp10(-400), 0},
		{"ln 1", Log(1), 0}, {"ln 0", Log(0), -inf}, {"ln inf", Log(inf), inf}, {"log10 0", Log10(0), -inf},
		{"log10 of the smallest", math.Round(Log10(5e-324)), -323},
		{"sin 1000 pi", SinPi(1000), 0}, {"sin 5/2 pi", SinPi(2.5), 1}, {"sin -pi/2", SinPi(-0.5), -1},
		{"cos pi/2", CosPi(0.5), 0}, {"cos 3 pi", CosPi(3), -1}, {"cos -2 pi", CosPi(-2), 1},
		{"sin pi/6", SinPi(1.0 / 6), 0.5},
		{"sin of a huge whole number", SinPi(1 << 60), 0},
	} {
		if c.got != c.want {
			t.Errorf("%s is %v, not %v", c.name, c.got, c.want)
		}
	}
	for _, x := range []float64{Log(-1), Log10(-1), SinPi(inf), CosPi(inf), Exp(math.NaN()), Log(math.NaN())} {
		if !math.IsNaN(x) {
			t.Errorf("%v is a number", x)
		}
	}
}

// TestBits holds the bits of many results. They are the same on every processor; a change of them changes
// what is rendered.
func TestBits(t *testing.T) {
	h := sha256.New()
	for i, f := range functions {
		random := rand.New(rand.NewPCG(3, uint64(i)))
		for range 20000 {
			x := math.FMA(f.to-f.from, random.Float64(), f.from)
			var b [8]byte
			binary.LittleEndian.PutUint64(b[:], math.Float64bits(f.got(x)))
			h.Write(b[:])
		}
	}
	const want = "caba037feaaf08226a7ea6b65dda9f4a92a2fa66359957e5cbefae0fe90e0765"
	if got := hex.EncodeToString(h.Sum(nil)); got != want {
		t.Errorf("the bits have the hash %s, not %s", got, want)
	}
}
