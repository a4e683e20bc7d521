package stages

var oversampledClipKind = Kind{
	Name: "oversampled_clip",
	Doc: "Clips at a multiple of the track's rate and returns to it, linear phase, working on the " +
		"excess alone.",
	Keys: []Key{
		ceilingKey,
		{
			Name: "factor", Type: Integer, Choices: []int64{2, 4, 8, 16}, Default: int64(8),
			Doc: "How many times the track's rate.",
		},
		kneeKey,
		linkKey,
	},
	Cuts: true, MayPass: true, Apart: true,
	Remarks: unheldClip, Clean: cleanClip,
	New: func(f Format, s Settings) (Stage, error) {
		knee, factor := s.knee(), int(s["factor"].(int64))
		apart := func() Stage {
			if knee.bend > 0 {
				return newBentApart(f.Channels, knee, factor, stretch).tell(f.Ends)
			}
			return newPerChannel(f.Channels, func() worker {
				c := newClipper(knee.ceiling, factor, clipStretch)
				c.effect.ends = f.Ends
				return c
			})
		}
		if s.Linked() && f.Channels > 1 {
			return &compared{Stage: newBent(f.Channels, knee, factor, stretch).tell(f.Ends), apart: apart()}, nil
		}
		return apart(), nil
	},
}
