package pipeline

import (
	"math"
	"testing"

	"ledgerline/pipeline/inspect"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages/stagetest/long"
)

// What an encoding in whole numbers limits to full scale is read and judged as it is written: the ledger has
// what a reading of the file says, which knows nothing of the chain.
func TestLimitedSamplesAreReadAsWritten(t *testing.T) {
	quiet := []string{`kind = "measure"`, `loudness_max_lufs = -4.0`, `overs_max = 0`}
	for _, encoding := range long.Or([]string{"pcm16", "float32"}, []string{"pcm16", "pcm24", "float32"}) {
		d := ferryDesk44(t)
		d.write("release.toml", "continuous = [[\"02 breakwater\", \"01 quay\"]]\n"+head(encoding)+
			stage("[[stage]]", `kind = "gain"`, `name = "drive"`, `gain_db = 9.0`)+stage("[[stage]]", quiet...))
		d.edit("ceiling_dbfs = -1.0\n", "")
		out := d.render(Options{Jobs: 2})
		sum := int64(0)
		for _, track := range out.Ledger.Tracks {
			file, err := inspect.File(t.Context(), d.path("masters/"+track.Output.File))
			d.must(err)
			last := track.Boundaries[len(track.Boundaries)-1]
			for what, pair := range map[string][2]*float64{
				"sample peak": {last.SamplePeakDBFS, file.Reading.SamplePeakDBFS},
				"true peak":   {last.TruePeakDBTP, file.Reading.TruePeakDBTP},
				"bs1770":      {track.Whole.TruePeakBS1770DBTP, file.TruePeakBS1770DBTP},
				"loudness":    {last.LoudnessLUFS, file.Reading.LoudnessLUFS},
				"RMS":         {last.RMSDBFS, file.Reading.RMSDBFS},
			} {
				// By itself, so that in a group the true peak is a little lower at the cut; words of 16 bits move peaks
				// by half a code.
				if pair[0] == nil || pair[1] == nil || math.Abs(*pair[0]-*pair[1]) > 3e-4 {
					t.Errorf("%s, %s: %s %s, the file has %s", encoding, track.Name, what, levelText(pair[0]),
						levelText(pair[1]))
				}
			}
			limited := track.Output.LimitedSamples
			sum += limited
			if (limited > 0) != (encoding != "float32") {
				t.Errorf("%s, %s: %d samples limited", encoding, track.Name, limited)
			}
			c := track.Stages[1].Ceiling
			if limited > 0 && c.Overs != limited || c.Overs == 0 {
				t.Errorf("%s, %s: %d overs, %d samples limited", encoding, track.Name, c.Overs, limited)
			}
			// 9 dB over 0.9 of full scale, in one of the two files' loudest places.
			if most := 9 + 20*math.Log10(0.9); c.LargestOverDB < most-1 || c.LargestOverDB > most {
				t.Errorf("%s, %s: the largest over is %v dB, want less than %v", encoding, track.Name,
					c.LargestOverDB, most)
			}
			for _, r := range track.Requirements {
				if want := r.Key == "loudness_max_lufs" && *last.LoudnessLUFS <= -4; r.Passed != want {
					t.Errorf("%s, %s: %v passes: %v", encoding, track.Name, r, r.Passed)
				}
			}
		}
		if sum != out.Ledger.Totals.LimitedSamples {
			t.Errorf("%s: %d samples limited in all, want %d", encoding, out.Ledger.Totals.LimitedSamples, sum)
		}
	}
}

// A delivery that goes on from where a master is limited gets what the stages made, as it does where the
// master's encoding limits nothing.
func TestALimitIsNotHandedOn(t *testing.T) {
	master := func(encoding string) map[string]string {
		d := shortDesk(t)
		d.write("release.toml", head(encoding)+stage("[[stage]]", drive...)+
			stage("[[stage]]", `kind = "measure"`, `overs_max = 0`)+
			delivered{name: "raw", encoding: "float64", from: "drive"}.table()+
			delivered{name: "low", encoding: "pcm16", from: "drive", own: [][]string{down, coarse}}.table())
		out := d.render(Options{})
		over := func(x ledger.Track) bool { return *x.Boundaries[len(x.Boundaries)-1].SamplePeakDBFS > 0 }
		for _, track := range out.Ledger.Tracks {
			if want := track.Delivery == "raw" || track.Delivery == "" && encoding == "float64"; over(track) != want {
				t.Errorf("%s: %s %s passes full scale: %v", encoding, track.Name, track.Delivery, !want)
			}
		}
		files := d.tree("masters/raw")
		for name, text := range d.tree("masters/low") {
			files["low/"+name] = text
		}
		return files
	}
	sameTree(t, "deliveries of limited masters", master("pcm24"), master("float64"))
}
