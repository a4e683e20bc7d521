package kernel

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// each runs f with the Go twins and whatever assembly the processor has; it is to
// return the same each time.
func each(t *testing.T, f func() any) {
	t.Helper()
	want := withFeatures(false, false, f)
	for name, got := range variants(f) {
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
}

func TestScansAgree(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{32, 64, 96, 128, 512} {
		for range long.Or(40, 200) {
			x := make([]float64, n+40)
			for i := range x {
				x[i] = math.Round(8*random.NormFloat64()) / 8
				if random.IntN(20) == 0 {
					x[i] = math.Copysign(0, -1)
				}
			}
			level := 1.0
			each(t, func() any {
				var masks [3][8]uint64
				Beyond(x, 9, n, level, masks[0][:], masks[1][:], masks[2][:])
				var nz [8]uint64
				NonZero(nz[:], x[3:3+n])
				y := append([]float64(nil), x[20:20+n]...)
				AddBeyond(y, x[5:5+n], level)
				z := make([]float64, 2*n)
				Zip(z, x[1:1+n], x[2:2+n])
				h := make([]float64, n)
				NewFilter([]float64{0.6, -0.2, 0.1, 0.7, 0.3, -0.9}).Apply(h, x[4:])
				var peaks [8]uint64
				Peaks(x, 9, n, level, 0.25, peaks[:])
				return fmt.Sprint(masks, nz, y, z, h, peaks)
			})
		}
	}
}
