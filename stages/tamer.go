package stages

import "ledgerline/stages/kernel"

// wild is a magnitude, +120 dBFS, that no programme has. Filters would spread a sample that is not a number,
// and lose the others beside one far beyond this.
const wild = 1e6

// A tamer keeps samples that no programme has away from filters, see wild.
type tamer struct{ tame []float64 }

// tamed is x with samples that are not numbers as 0, and wild ones as the limit. It is valid until the next
// call.
func (t *tamer) tamed(x []float64) []float64 {
	if kernel.Within(x, wild) == len(x) {
		return x
	}
	t.tame = append(t.tame[:0], x...)
	for i, v := range t.tame {
		if v != v {
			t.tame[i] = 0
		} else {
			t.tame[i] = min(max(v, -wild), wild)
		}
	}
	return t.tame
}
