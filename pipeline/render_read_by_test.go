package pipeline

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/meter"
	"ledgerline/stages/stagetest/long"
)

// wantShort holds the ledger's readings of short filters against the file that was written.
func (d *desk) wantShort(name string, track ledger.Track) {
	d.t.Helper()
	x := d.samples("masters/" + track.Output.File)
	bs, sinc := meter.NewBS1770(len(x)), meter.NewSinc49(track.Source.RateHz, len(x))
	bs.Write(x)
	sinc.Write(x)
	for _, c := range []struct {
		key       string
		got       *float64
		magnitude float64
	}{
		{"bs1770", track.Whole.TruePeakBS1770DBTP, bs.Peak()}, {
			"sinc49", track.Whole.TruePeakSinc49DBTP, sinc.Peak(),
		},
	} {
		if want := stages.DB(c.magnitude); c.got == nil || math.Abs(*c.got-want) > 0.5001e-4 {
			d.t.Errorf("%s: the ledger has %v by %s, the file reads %.5f", name, c.got, c.key, want)
		}
	}
}

// Every meter in the list reads the ceiling or less in the file, whatever the mix, and so the requirements
// hold.
func TestReadByIsKept(t *testing.T) {
	long.Only(t, "TestPromiseIsKept reads by the exact meter, TestShortRequirementInTheMiddle by "+
		"a short one")
	for i, m := range nastyMixes {
		lists := []string{`"exact", "bs1770"`, `"sinc49", "bs1770"`}
		if (i%2 > 0 || i > 2) && !long.Wanted() { // others in TestPromiseIsKept
			continue
		}
		for _, by := range long.Or(lists[i/2%2:][:1], lists) {
			d := newDesk(t)
			m.write(d, long.Or[int64](4000, 16000))
			text := promiseChain(m.driveDB, "pcm24", dither24)
			text = strings.Replace(text, "name         = \"hold\"\n", "name         = \"hold\"\nread_by = ["+by+"]\n",
				1)
			for _, meter := range []string{"bs1770", "sinc49"} {
				if strings.Contains(by, meter) {
					text += fmt.Sprintf("true_peak_%s_max_dbtp = -1.0\n", meter)
				}
			}
			d.write("release.toml", text)
			out, p := d.tell(Options{})
			track, name := out.Ledger.Tracks[0], m.name+" by "+by
			d.wantPromise(name, track, -1)
			d.wantShort(name, track)
			t.Logf("%s: %d repeats, aim lowered by %.4f dB, bs1770 %.4f, sinc49 %.4f dBTP", name, p.again(m.name),
				track.Whole.AimLoweredDB, *track.Whole.TruePeakBS1770DBTP, *track.Whole.TruePeakSinc49DBTP)
		}
	}
}

// A measure in the middle of a chain is judged by what is read there, not at the end.
func TestShortRequirementInTheMiddle(t *testing.T) {
	d := newDesk(t)
	nasty{"music", 44100, long.Or(1, 2), 5, clipped}.write(d, long.Or[int64](4000, 16000))
	const measures = "\n[[stage]]\nkind = \"measure\"\nname = \"%s\"\ntrue_peak_bs1770_max_dbtp = -1.0\n" +
		"true_peak_sinc49_max_dbtp = -1.0\n"
	text := promiseChain(5, "pcm24",
		fmt.Sprintf(measures, "early")+"\n[[stage]]\nkind = \"gain\"\nname = \"down\"\ngain_db = -6.0\n")
	d.write("release.toml", text+fmt.Sprintf(measures, "late"))
	out, _ := d.tell(Options{})
	track := out.Ledger.Tracks[0]
	d.wantShort("music", track)
	found := map[string]ledger.Requirement{}
	for _, r := range track.Requirements {
		found[r.Stage+" "+r.Key] = r
	}
	for key, end := range map[string]*float64{
		"bs1770": track.Whole.TruePeakBS1770DBTP, "sinc49": track.Whole.TruePeakSinc49DBTP,
	} {
		early, late := found["early true_peak_"+key+"_max_dbtp"], found["late true_peak_"+key+"_max_dbtp"]
		if early.Passed || !late.Passed || *late.Found != *end || math.Abs(*early.Found-*end-6) > 2e-4 {
			t.Errorf("%s: %v, then %v", key, early, late)
		}
	}
}
