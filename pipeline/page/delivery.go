package page

import "fmt"

func deliveriesText(n int) string {
	if n == 1 {
		return "1 file is delivered of them"
	}
	return fmt.Sprintf("%d files are delivered of them", n)
}

// delivered has what is delivered of a track, against the renders that it continues; nil: nothing.
func (t *track) delivered() *table {
	all := &table{Caption: "Deliveries of " + t.name, Hidden: true, Stack: true, Heads: []head{
		{"delivery", "", true}, {"form", "", true}, {"loudness", "LUFS", false}, {"sample peak", "dBFS", false},
		{"true peak", "dBTP", false},
		{"by bs1770", "dBTP", false}, {"growth", "dB", false}, {"requirements", "", true},
	}}
	for _, r := range t.deliveries {
		growth := "none"
		for _, from := range t.renders {
			if from.Variant == r.Variant && from.old == r.old {
				growth = signed(value(r.last().TruePeakDBTP)-value(from.last().TruePeakDBTP), 2)
			}
		}
		judged, bad := r.judged()
		row := all.add(r.chain, r.form(), figure(r.last().LoudnessLUFS, 2), figure(r.last().SamplePeakDBFS, 2),
			figure(r.last().TruePeakDBTP, 2),
			figure(r.whole().TruePeakBS1770DBTP, 2), growth, judged)
		row.Cells[7].Bad = bad
	}
	if len(all.Rows) == 0 {
		return nil
	}
	return all
}

// form is the form of a render's file.
func (r *render) form() string {
	rate := r.last().RateHz
	if rate == 0 {
		rate = r.Source.RateHz
	}
	return fmt.Sprintf("%s, %d Hz", r.Output.Encoding, rate)
}
