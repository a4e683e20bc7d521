package stages

// compared is a stage of linked channels that tells how much it would have removed if they were not. For that
// the same stage without the link runs beside it.
type compared struct {
	Stage
	apart Stage
	spare Block // what the other hands on, which nobody hears
}

func (c *compared) Process(dst, in Block) Block {
	if c.spare == nil {
		c.spare = NewBlock(len(in), 0)
	}
	c.spare = c.apart.Process(c.spare.Empty(), in)
	return c.Stage.Process(dst, in)
}

func (c *compared) Flush(dst Block) Block {
	if c.spare != nil {
		c.apart.Flush(c.spare.Empty())
	}
	return c.Stage.Flush(dst)
}

// EffectOn is the effect on one track. Both stages tell tracks apart.
func (c *compared) EffectOn(track int) Effect {
	e := c.Stage.(Teller).EffectOn(track)
	e.Unlinked = c.apart.(Teller).EffectOn(track).Removed
	return e
}

func (c *compared) Effect() Effect {
	e := c.Stage.Effect()
	e.Unlinked = c.apart.Effect().Removed
	return e
}
