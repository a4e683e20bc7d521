package track

import (
	"math/rand/v2"
	"testing"

	"ledgerline/stages"
)

// What was fed comes out in its order, once, at equal gain, however much of it is handed on at a time.
func TestDelay(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	for _, lag := range []int{0, 5, 700, 3000} {
		for _, gains := range [][]float64{nil, {0.3, 0.7}} {
			d := delay{gains: gains}
			fed, handed := 0, 0
			for range 60 {
				in := stages.NewBlock(2, random.IntN(1000))
				for i := range in[0] {
					in[0][i], in[1][i] = float64(fed+i), -float64(fed+i)
				}
				fed += in.Frames()
				frames := random.IntN(max(0, fed-lag-handed) + 1)
				if lag == 0 {
					frames = fed - handed
				}
				d.feed(in, frames)
				told := 0
				for {
					part, from, ok := d.next()
					if !ok {
						break
					}
					if from != told || part.Frames() == 0 {
						t.Fatalf("lag %d: %d frames from %d on, want some from %d on", lag, part.Frames(), from, told)
					}
					for i := range part[0] {
						want := float64(handed + told + i)
						for _, g := range gains {
							want *= g
						}
						if part[0][i] != want || part[1][i] != -want {
							t.Fatalf("lag %d: frame %d is %v and %v, want %v and its opposite", lag, handed+told+i,
								part[0][i], part[1][i], want)
						}
					}
					told += part.Frames()
				}
				if told != frames {
					t.Fatalf("lag %d: %d frames, want %d", lag, told, frames)
				}
				handed += frames
				for c := range in { // the block is used for something else
					clear(in[c])
				}
			}
		}
	}
}
