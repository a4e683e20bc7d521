package stages_test

import (
	"math"
	"os"
	"strconv"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/judge"
)

// chainOf is a chain of the stages that makers make.
func chainOf(makers ...stagetest.Maker) judge.Chain {
	return func(f stages.Format) (all []stages.Stage) {
		for _, m := range makers {
			all = append(all, m(f))
		}
		return all
	}
}

func TestMaskedClipTable(t *testing.T) {
	plain := chainOf(oversampledClipAt(-1, 8), ceilingHoldAt(-1, "true", "band_limited"))
	masked := chainOf(maskedClipAt(-1), ceilingHoldAt(-1, "true", "band_limited"))
	programmes := judge.Synthesized(4)
	for _, name := range []string{"01 quay", "02 breakwater", "03 lantern"} {
		programmes = append(programmes, judge.Programme{Name: name, Rate: 44100, Audio: wholeMix(t, name)})
	}
	drive := 6.0
	if v, err := strconv.ParseFloat(os.Getenv("DRIVE"), 64); err == nil {
		drive = v
	}
	for _, p := range programmes {
		in, _ := p.Render(chainOf(), drive)
		over, n := 0, 0
		for c := range in {
			for _, v := range in[c] {
				n++
				if math.Abs(v) > stages.Linear(-1) {
					over++
				}
			}
		}
		a := p.Judge(plain, drive)
		t.Logf("%-14s %5.2f %% over, plain  %v", p.Name, 100*float64(over)/float64(n), a)
		b := p.Judge(masked, p.MatchedDrive(masked, a.Loudness, drive))
		t.Logf("%-14s                masked %v", p.Name, b)
	}
}
