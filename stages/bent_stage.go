package stages

// bentApart is the stage of channels that are bent each by itself.
type bentApart []*bent

func newBentApart(channels int, k knee, factor, stretch int) bentApart {
	var s bentApart
	for range channels {
		s = append(s, newBent(1, k, factor, stretch))
	}
	return s
}

func (s bentApart) tell(ends []int64) bentApart {
	for _, b := range s {
		b.tell(ends)
	}
	return s
}

func (s bentApart) EffectOn(track int) (sum Effect) {
	for _, b := range s {
		sum.Add(b.EffectOn(track))
	}
	return sum
}

func (s bentApart) Process(dst, in Block) Block {
	for c, b := range s {
		b.Process(dst[c:c+1], in[c:c+1])
	}
	return dst
}

func (s bentApart) Flush(dst Block) Block {
	for c, b := range s {
		b.Flush(dst[c : c+1])
	}
	return dst
}

func (s bentApart) Effect() Effect {
	sum := Effect{}
	for _, b := range s {
		sum.Add(b.Effect())
	}
	return sum
}
