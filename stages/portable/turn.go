package portable

import "math"

const piLow = 1.2246467991473532e-16 // pi - math.Pi

// SinPi is sin(pi t): exactly 0 for whole t, and exactly 1 or -1 halfway between.
func SinPi(t float64) float64 {
	quarter, r := quarters(t)
	switch quarter {
	case 0:
		return sin(r)
	case 1:
		return cos(r)
	case 2:
		return -sin(r)
	}
	return -cos(r)
}

// CosPi is cos(pi t): exactly 1 or -1 for whole t, and exactly 0 halfway between.
func CosPi(t float64) float64 {
	quarter, r := quarters(t)
	switch quarter {
	case 0:
		return cos(r)
	case 1:
		return -sin(r)
	case 2:
		return -cos(r)
	}
	return sin(r)
}

// TanPi is tan(pi t), infinite halfway between whole t.
func TanPi(t float64) float64 { return SinPi(t) / CosPi(t) }

// quarters splits t, exactly, into a number of half units, of which four are a full turn, and a rest of at
// most a quarter.
func quarters(t float64) (quarter int, rest float64) {
	if !(math.Abs(t) < 2) { // Mod, which takes long, would leave another as it is
		t = math.Mod(t, 2)
	}
	if math.IsNaN(t) {
		return 0, t
	}
	n := math.Round(2 * t)
	return int(n) & 3, math.FMA(-0.5, n, t)
}

// sin is sin(pi r) for r within a quarter of zero, by its power series up to the 17th power.
func sin(r float64) float64 {
	y, low := times(r)
	z := y * y
	sum := 1.0 / 355687428096000
	for _, c := range [...]float64{
		-1.0 / 1307674368000, 1.0 / 6227020800, -1.0 / 39916800, 1.0 / 362880, -1.0 / 5040, 1.0 / 120, -1.0 / 6,
	} {
		sum = math.FMA(sum, z, c)
	}
	return y + math.FMA(y*z, sum, low)
}

// cos is cos(pi r) likewise, up to the 18th power.
func cos(r float64) float64 {
	y, low := times(r)
	z := y * y
	sum := -1.0 / 6402373705728000
	for _, c := range [...]float64{
		1.0 / 20922789888000, -1.0 / 87178291200, 1.0 / 479001600, -1.0 / 3628800, 1.0 / 40320,
		-1.0 / 720, 1.0 / 24,
	} {
		sum = math.FMA(sum, z, c)
	}
	// 1 - z/2 is kept as a sum of two numbers.
	top := math.FMA(-0.5, z, 1)
	rest := math.FMA(-0.5, z, 1-top)
	rest = math.FMA(-y, low, math.FMA(-0.5, math.FMA(y, y, -z), rest))
	return top + math.FMA(z*z, sum, rest)
}

// times is pi r as a sum of two numbers.
func times(r float64) (y, low float64) {
	y = float64(r * math.Pi) // so that no sum is fused with it
	return y, math.FMA(r, piLow, math.FMA(r, math.Pi, -y))
}
