package stages_test

import (
	"fmt"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

var benchChanges = [][2]int{
	{44100, 48000}, {48000, 44100}, {96000, 44100}, {96000, 48000}, {44100, 96000}, {192000, 44100},
	{44100, 192000}, {44100, 88200}, {88200, 44100},
}

func BenchmarkResample(b *testing.B) {
	for _, r := range benchChanges {
		b.Run(fmt.Sprint(r[0], " to ", r[1]), func(b *testing.B) {
			s := stages.Settings{"rate_hz": int64(r[1])}
			stagetest.Bench(b, func(f stages.Format) stages.Stage {
				f.Rate = r[0]
				stage, err := stages.Build("resample", f, s)
				if err != nil {
					b.Fatal(err)
				}
				return stage
			}, ramps(1))
		})
	}
}
