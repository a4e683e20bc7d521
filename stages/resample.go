package stages

var resampleKind = Kind{
	Name: "resample",
	Doc:  "Changes the rate, linear phase and without a shift.",
	Keys: []Key{{
		Name: "rate_hz", Type: Integer, Min: 8000, Max: 384000, Required: true, Unit: "Hz",
		Doc: "The rate of what it hands on.",
	}},
	AtRate: func(rate int, s Settings) error {
		_, _, err := Ratio(rate, resampleRate(s))
		return err
	},
	New:     newResample,
	Rate:    resampleRate,
	Apart:   true,
	Remarks: unheldResample,
}

func resampleRate(s Settings) int {
	rate, _ := s["rate_hz"].(int64)
	return int(rate)
}

// newResample makes the stage; equal rates pass bit for bit.
func newResample(f Format, s Settings) (Stage, error) {
	up, down, err := Ratio(f.Rate, resampleRate(s))
	if err != nil {
		return nil, err
	}
	if up == down {
		m := &monos{}
		for range f.Channels {
			m.each = append(m.each, measure{})
		}
		return m, nil
	}
	return newPerChannel(f.Channels, func() worker { return newResampler(up, down) }), nil
}
