package stages

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/stagetest/long"
)

// stretched are the workers that hold a stretch of a channel, the lag that each has, and what another stretch
// may change: each of the hold's passes rounds the place of a peak, which in 16384 frames is less than 2^15
// values, by 2^-38 values at most, where a pulse and its neighbours together rise by less than 4 a value.
var stretched = []struct {
	name string
	lag  int
	off  float64
	make func(stretch int) worker
}{
	{"clip", clipLag, 0, func(stretch int) worker { return newClipper(0.5, 4, stretch) }},
	{"hold of true peaks", holdLag, holdPasses * 4 * 0x1p-38, func(stretch int) worker {
		return newHolder(0.5, 0, false, stretch)
	}},
	{"hold of samples", holdLag, 0, func(stretch int) worker { return newHolder(0.5, 0, true, stretch) }},
}

// hot is noise with most of its power at low frequencies, a tenth of it beyond 0.5, which gives a worker
// something to do in nearly every tile.
func hot(frames int) []float64 {
	random := rand.New(rand.NewPCG(1, 8))
	x, v := make([]float64, frames), 0.0
	for i := range x {
		v = 0.9*v + 0.13*random.NormFloat64()
		x[i] = v
	}
	return x
}

// throughBlocks is what a worker makes of x, which comes in blocks of so many frames.
func throughBlocks(w worker, x []float64, block int) (y []float64) {
	for ; len(x) > block; x = x[block:] {
		y = w.push(y, x[:block])
	}
	return w.flush(w.push(y, x))
}

// In any stretch, down to the shortest that there may be, a worker comes to its end with what it makes in the
// usual one, and block lengths change no bit.
func TestStretches(t *testing.T) {
	x := hot(long.Or(15000, 30000))
	for _, s := range stretched {
		want := throughBlocks(s.make(stretch), x, 4096)
		least := leastStretch(s.lag)
		lengths := []int{least, 2*stretch - 2*bandlimit.Reach, least + tile, 2*least - tile, 3072, stretch}
		for _, length := range lengths[:long.Or(2, 6)] {
			name := fmt.Sprintf("%s, stretch %d", s.name, length)
			w := s.make(length)
			whole := throughBlocks(w, x, len(x))
			if w.took().Touched == 0 {
				t.Fatalf("%s: nothing was over", name)
			}
			same(t, name+", against the usual stretch", whole, want, s.off)
			for _, block := range []int{1, 1000, 4096}[:long.Or(2, 3)] {
				same(t, fmt.Sprintf("%s, blocks of %d", name, block), throughBlocks(s.make(length), x, block), whole, 0)
			}
		}
	}
}

func same(t *testing.T, name string, got, want []float64, off float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d frames, want %d", name, len(got), len(want))
	}
	for n := range got {
		if !(math.Abs(got[n]-want[n]) <= off) {
			t.Fatalf("%s: frame %d is %v, want %v", name, n, got[n], want[n])
		}
	}
}

// A stretch in which a stream could not go on is refused when it is made.
func TestStretchTooShort(t *testing.T) {
	for _, s := range stretched {
		for _, length := range []int{tile, leastStretch(s.lag) / tile / 2 * tile, leastStretch(s.lag) - tile} {
			want := fmt.Sprintf("a stretch of %d frames, want %d or more", length, leastStretch(s.lag))
			func() {
				defer func() {
					if got := fmt.Sprint(recover()); !strings.Contains(got, want) {
						t.Errorf("%s, stretch %d: panics with %q, want %q", s.name, length, got, want)
					}
				}()
				s.make(length)
			}()
		}
	}
}
