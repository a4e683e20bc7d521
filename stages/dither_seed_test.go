package stages_test

import (
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

// The same seeds give the same bytes, today and in any later version. The codes
// were computed by another program, in whole numbers and fractions, from what
// the comments of dither and of its random words say.
func TestDitherBytes(t *testing.T) {
	in := make([]float64, 16)
	for i := range in {
		in[i] = float64(i-8) / 30
	}
	for _, c := range []struct {
		density string
		seed    int64
		track   uint64
		channel int
		want    []float64
	}{
		{
			"triangular", 0, 0, 0, []float64{
				-2236963, -1957342, -1677722, -1398101, -1118481, -838861, -559241, -279620, 0, 279619, 559241, 838862,
				1118481, 1398101, 1677722, 1957342,
			},
		},
		{
			"triangular", 0, 0, 1, []float64{
				-2236962, -1957341, -1677721, -1398102, -1118481, -838861, -559241, -279620, -1, 279620, 559240, 838861,
				1118481, 1398102, 1677721, 1957342,
			},
		},
		{
			"triangular", 7, 0, 0, []float64{
				-2236962, -1957342, -1677721, -1398101, -1118482, -838861, -559240, -279621, 0, 279621, 559241, 838861,
				1118481, 1398102, 1677722, 1957343,
			},
		},
		{
			"triangular", 0, 99, 0, []float64{
				-2236962, -1957343, -1677722, -1398102, -1118481, -838860, -559240, -279620, 1, 279621, 559240, 838862,
				1118481, 1398102, 1677722, 1957343,
			},
		},
		{
			"rectangular", 0, 0, 0, []float64{
				-2236962, -1957342, -1677722, -1398102, -1118481, -838861, -559240, -279621, 0, 279620, 559240, 838861,
				1118481, 1398101, 1677722, 1957342,
			},
		},
		{
			"rectangular", 0, 0, 1, []float64{
				-2236962, -1957342, -1677722, -1398101, -1118481, -838861, -559240, -279620, 0, 279620, 559241, 838861,
				1118482, 1398102, 1677722, 1957342,
			},
		},
		{
			"rectangular", 7, 0, 0, []float64{
				-2236962, -1957342, -1677722, -1398101, -1118481, -838861, -559241, -279620, 0, 279620, 559240, 838860,
				1118481, 1398101, 1677721, 1957342,
			},
		},
		{
			"rectangular", 0, 99, 0, []float64{
				-2236962, -1957342, -1677722, -1398101, -1118481, -838861, -559241, -279620, 0, 279620, 559241, 838861,
				1118481, 1398101, 1677722, 1957342,
			},
		},
	} {
		for _, channels := range []int{2, 6} {
			make := mustBuild("dither", stages.Settings{"bits": int64(24), "density": c.density, "seed": c.seed})
			block := stages.NewBlock(channels, len(in))
			copy(block[c.channel], in)
			out := stagetest.Render(make(stages.Format{Rate: 44100, Channels: channels, Seed: c.track}), block)
			for i, x := range out[c.channel] {
				if x*(1<<23) != c.want[i] {
					t.Errorf("%s, seed %d, track %d, channel %d of %d, frame %d: code %v, want %v",
						c.density, c.seed, c.track, c.channel, channels, i, x*(1<<23), c.want[i])
				}
			}
		}
	}
}
