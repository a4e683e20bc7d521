package stages

import "errors"

var ceilingHoldKind = Kind{
	Name: "ceiling_hold",
	Doc:  "No sample passes the ceiling, ever.",
	Keys: []Key{
		ceilingKey,
		{
			Name: "peak", Type: Word, Words: []string{"sample", "true"}, Default: "true",
			Doc: "Which peak is held; the method plain holds the samples only.",
		},
		{
			Name: "method", Type: Word, Words: []string{"band_limited", "plain"}, Default: "band_limited",
			Doc: "How what is over is removed: without adding aliasing, or by clipping at the track's rate.",
		},
		{
			Name: "read_by", Type: List, Words: []string{ReadExact, ReadBS1770, ReadSinc49},
			Default: WordList(ReadExact),
			Doc: "The meters whose true peak keeps the ceiling at the end of the chain; exact is always " +
				"one of them.",
		},
		linkKey,
	},
	Cuts: true, Apart: true,
	Promises: holdPromise,
	Unheard: []Unheard{{
		Key: "peak", When: func(s Settings) bool { return s["method"] == "plain" },
		Why: `the method "plain" holds samples only`,
	}},
	Remarks: func(chain []Use, k int) []Remark {
		return append(afterHold(chain, k), readAfterHold(chain, k)...)
	},
	Fault: ceilingHoldFault,
	New: func(f Format, s Settings) (Stage, error) {
		if fault := ceilingHoldFault(s); fault != "" {
			return nil, errors.New(fault)
		}
		if s["method"] == "plain" {
			return hardClipKind.make(f, s)
		}
		ceiling, _ := s.Ceiling()
		samples := s["peak"] == "sample"
		tools := new(wholeTools)
		apart := newPerChannel(f.Channels, func() worker {
			w := newWholeBand(newHolder(ceiling, f.AimLowerDB, samples, stretch), tools, samples)
			w.effect.ends = f.Ends
			return w
		})
		if !s.Linked() || f.Channels == 1 {
			return apart, nil
		}
		return &compared{Stage: newLinkedHold(f, ceiling, samples), apart: apart}, nil
	},
}

// holdPromise is none of the method plain: its clip is where it is, and what comes after it
// may raise peaks.
func holdPromise(s Settings) Promise {
	switch {
	case s["method"] != "band_limited":
		return NoPromise
	case s["peak"] == "sample":
		return SamplePeaks
	}
	return TruePeaks
}

// The meters that a hold may be read by.
const (
	ReadExact  = "exact"  // the ideal true peak
	ReadBS1770 = "bs1770" // the 48 taps of ITU-R BS.1770-5, Annex 2
	ReadSinc49 = "sinc49" // a windowed sinc of 49 taps
)

// ceilingHoldFault: the meters beside the exact one read true peaks, so they cannot be had where these are
// not held.
func ceilingHoldFault(s Settings) string {
	if l := s.ReadBy(); !l.Has(ReadBS1770) && !l.Has(ReadSinc49) {
		return ""
	}
	switch {
	case s["method"] == "plain":
		return `read_by has meters of the true peak, which method = "plain" does not hold; want read_by = ` +
			`["exact"], or method = "band_limited"`
	case s["peak"] == "sample":
		return `read_by has meters of the true peak, which peak = "sample" does not hold; want read_by = ` +
			`["exact"], or peak = "true"`
	}
	return ""
}
