package stages

var oversampledClipKind = Kind{
	Name: "oversampled_clip",
	Doc:  "Clips at a multiple of the track's rate and returns to it, linear phase, working on the excess alone.",
	Keys: []Key{
		ceilingKey,
		{Name: "factor", Type: Integer, Choices: []int64{2, 4, 8, 16}, Default: int64(8), Doc: "How many times the track's rate."},
	},
	New: func(f Format, s Settings) (Stage, error) {
		c, _ := s.Ceiling()
		o := &oversampledClip{channels: make([]*clipper, f.Channels)}
		for i := range o.channels {
			o.channels[i] = newClipper(c, int(s["factor"].(int64)))
		}
		return o, nil
	},
}

type oversampledClip struct {
	channels []*clipper
	held     int
}

func (o *oversampledClip) Process(dst, in Block) Block {
	o.held += in.Frames()
	for i, c := range o.channels {
		at := len(dst[i])
		dst[i] = c.push(dst[i], in[i])
		if i == 0 {
			o.held -= len(dst[i]) - at
		}
	}
	return dst
}

func (o *oversampledClip) Flush(dst Block) Block {
	for i, c := range o.channels {
		dst[i] = c.flush(dst[i], o.held)
	}
	return dst
}

func (o *oversampledClip) Effect() Effect {
	e := Effect{Cut: 1}
	for _, c := range o.channels {
		e.add(c.effect)
	}
	return e
}
