package kernel

import (
	"math"
	"testing"

	"ledgerline/stages/stagetest/long"
)

func TestRows(t *testing.T) {
	for _, taps := range long.Or([]int{8, 40}, []int{8, 16, 40}) {
		for _, hop := range long.Or([]int{1, 147}, []int{0, 1, 3, 147}) {
			if !long.Wanted() && (taps == 8) == (hop == 1) {
				continue
			}
			for _, step := range long.Or([]int{1, 5}, []int{1, 2, 5}) {
				agree(t, run{upTo(20), 120*hop + taps, odd, func(m maker, y, x []float64) []float64 {
					Rows(y, step, x, hop, m.mixed(taps, odd), (len(y)+step-1)/step)
					return nil
				}})
			}
		}
	}
}

// A row of powers of two meets another: each product and each sum is exact.
func TestRowsIsTheSumOfProducts(t *testing.T) {
	h, x, want := make([]float64, 24), make([]float64, 24+7), 0.0
	for i := range h {
		h[i] = math.Ldexp(1, i%5)
	}
	for i := range x {
		x[i] = float64(i)
	}
	inEachForm(func(form string) {
		y := make([]float64, 8)
		Rows(y, 1, x, 1, h, 8)
		for j := range y {
			want = 0
			for m := range h {
				want += h[m] * x[j+m]
			}
			if y[j] != want {
				t.Errorf("%s: sum %d is %v, want %v", form, j, y[j], want)
			}
		}
	})
}
