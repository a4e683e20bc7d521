package stages_test

import (
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/judge"
	"ledgerline/stages/stagetest/long"
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

var (
	plainChain  = chainOf(oversampledClipAt(-1, 8), ceilingHoldAt(-1, "true", "band_limited"))
	maskedChain = chainOf(maskedClipAt(-1), ceilingHoldAt(-1, "true", "band_limited"))
)

// judgedProgrammes are what the judges hear: synthesized, and the mixes of the example.
func judgedProgrammes(t *testing.T) []judge.Programme {
	all := judge.Synthesized(4)
	for _, name := range []string{"01 quay", "02 breakwater", "03 lantern"} {
		all = append(all, judge.Programme{Name: name, Rate: 44100, Audio: wholeMix(t, name)})
	}
	return all
}

// At equal loudness and equal ceiling, driven by 6 dB, less of what the masked clip and a hold remove is over
// the mask than of what a clip at 8 times the rate and a hold do: by the reading after BS.1387, which the
// pulses are made after, and by a second model that has nothing of it. The bass, which neither hears well, is
// to be disturbed in at most 1.3 times as many frames.
func TestMaskedClipIsMaskedMore(t *testing.T) {
	long.Only(t, "judges seconds of programme")
	const drive = 6
	heard := [2]float64{}
	for _, p := range judgedProgrammes(t) {
		plain := p.Judge(plainChain, drive)
		masked := p.Judge(maskedChain, p.MatchedDrive(maskedChain, plain.Loudness, drive))
		t.Logf("%s\nplain  %v\nmasked %v", p.Name, plain, masked)
		heard[0] += plain.Second.Over
		heard[1] += masked.Second.Over
		if miss := masked.Loudness - plain.Loudness; miss > 0.03 || miss < -0.03 {
			t.Errorf("%s: loudness differs by %.3f LU", p.Name, miss)
		}
		if more := masked.DriveDB - drive; more > 0.8 {
			t.Errorf("%s: driven by %.2f dB more", p.Name, more)
		}
		if masked.TruePeak > -1+0.01 {
			t.Errorf("%s: true peak %.3f dBTP", p.Name, masked.TruePeak)
		}
		if masked.NoiseDB > plain.NoiseDB-2 || masked.Disturbed > plain.Disturbed {
			t.Errorf("%s: noise to mask %.1f dB and %.2f %% disturbed, plain %.1f and %.2f", p.Name, masked.NoiseDB,
				masked.Disturbed, plain.NoiseDB, plain.Disturbed)
		}
		if masked.Second.BySix > plain.Second.BySix {
			t.Errorf("%s: by the second judge %.2f %% over by 6 dB, plain %.2f", p.Name, masked.Second.BySix,
				plain.Second.BySix)
		}
		if masked.Bass > 1.3*plain.Bass {
			t.Errorf("%s: bass over in %.2f %% of the frames, plain %.2f", p.Name, masked.Bass, plain.Bass)
		}
		if more := masked.RemovedDB - plain.RemovedDB; more > 4 {
			t.Errorf("%s: %.1f dB more removed", p.Name, more)
		}
	}
	if heard[1] >= heard[0] {
		t.Errorf("by the second judge %.2f %% of the frames over in all, plain %.2f", heard[1], heard[0])
	}
}
