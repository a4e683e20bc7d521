package stages

var ceilingHoldKind = Kind{
	Name: "ceiling_hold",
	Doc:  "No sample passes the ceiling, ever.",
	Keys: []Key{
		ceilingKey,
		{Name: "peak", Type: Word, Words: []string{"sample", "true"}, Default: "true", Doc: "Which peak is held; the method plain holds the samples only."},
		{Name: "method", Type: Word, Words: []string{"band_limited", "plain"}, Default: "band_limited", Doc: "How what is over is removed: without adding aliasing, or by clipping at the track's rate."},
	},
	Cuts: true, Apart: true,
	Promises: holdPromise,
	Unheard: []Unheard{{
		Key: "peak", When: func(s Settings) bool { return s["method"] == "plain" }, Why: `the method "plain" holds samples only`,
	}},
	Remarks: afterHold,
	New: func(f Format, s Settings) (Stage, error) {
		if s["method"] == "plain" {
			return hardClipKind.make(f, s)
		}
		ceiling, _ := s.Ceiling()
		samples := s["peak"] == "sample"
		tools := new(wholeTools)
		return newPerChannel(f.Channels, func() worker {
			h := newHolder(ceiling, f.AimLowerDB, samples, stretch)
			if samples {
				return h
			}
			return newWholeBand(h, tools)
		}), nil
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
