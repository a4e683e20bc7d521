package stages

import (
	"math"
	"math/rand/v2"
	"testing"
)

// All samples together are booked as one by one, but for the order of the sum.
func TestBookAllIsBook(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	const ceiling = 0.5
	for n := range 70 {
		in, out := make([]float64, n), make([]float64, n)
		one, all := Effect{}, Effect{}
		for i := range in {
			in[i] = random.NormFloat64()
			if random.IntN(20) == 0 {
				in[i] *= 1e200
			}
			if out[i] = in[i]; random.IntN(3) > 0 {
				out[i] = min(max(in[i], -ceiling), ceiling)
			}
			if in[i] != out[i] {
				one.book(in[i], out[i], ceiling)
			}
		}
		all.bookAll(in, out, ceiling)
		off := math.Abs(all.Removed - one.Removed)
		if all.Removed = one.Removed; off > 1e-13*one.Removed || all != one {
			t.Errorf("%d samples: %+v, %v off, want %+v", n, all, off, one)
		}
	}
}
