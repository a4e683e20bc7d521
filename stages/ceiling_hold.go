package stages

var ceilingHoldKind = Kind{
	Name: "ceiling_hold",
	Doc:  "No sample passes the ceiling, ever.",
	Keys: []Key{
		ceilingKey,
		{Name: "peak", Type: Word, Words: []string{"sample", "true"}, Default: "true", Doc: "Which peak is held; the method plain holds the samples only."},
		{Name: "method", Type: Word, Words: []string{"band_limited", "plain"}, Default: "band_limited", Doc: "How what is over is removed: without adding aliasing, or by clipping at the track's rate."},
	},
	New: func(f Format, s Settings) (Stage, error) {
		if s["method"] == "plain" {
			return hardClipKind.New(f, s)
		}
		ceiling, _ := s.Ceiling()
		samples := s["peak"] == "sample"
		return newPerChannel(f.Channels, func() worker {
			h := newHolder(ceiling, f.AimLowerDB, samples, stretch)
			if samples {
				return h
			}
			return newWholeBand(h)
		}), nil
	},
}
