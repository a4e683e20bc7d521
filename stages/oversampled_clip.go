package stages

var oversampledClipKind = Kind{
	Name: "oversampled_clip",
	Doc:  "Clips at a multiple of the track's rate and returns to it, linear phase, working on the excess alone.",
	Keys: []Key{
		ceilingKey,
		{Name: "factor", Type: Integer, Choices: []int64{2, 4, 8, 16}, Default: int64(8), Doc: "How many times the track's rate."},
	},
	Cuts: true, MayPass: true, Apart: true,
	Remarks: unheldClip,
	New: func(f Format, s Settings) (Stage, error) {
		ceiling, _ := s.Ceiling()
		factor := int(s["factor"].(int64))
		return newPerChannel(f.Channels, func() worker { return newClipper(ceiling, factor, stretch) }), nil
	},
}
