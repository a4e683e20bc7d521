package track

import "ledgerline/stages"

// A link is one stage of a chain at work: one for all channels, or, where it
// takes long, one for each of them, which may then work at once.
type link struct {
	name   string
	stages []stages.Stage
}

func newLink(use stages.Use, f stages.Format) (link, error) {
	l := link{name: use.Name}
	parts := 1
	if use.Of().Apart && !use.Settings.Linked() {
		parts, f.Channels = f.Channels, 1
	}
	for range parts {
		s, err := stages.Build(use.Kind, f, use.Settings)
		if err != nil {
			return link{}, err
		}
		l.stages = append(l.stages, s)
	}
	return l, nil
}

// process takes frames through the stage, the last ones if nothing follows. What comes of them is in out's
// memory.
func (l *link) process(out, in stages.Block, last bool) stages.Block {
	out = out.Empty()
	for c, s := range l.stages {
		to, from := out, in
		if len(l.stages) > 1 {
			to, from = out[c:c+1], in[c:c+1]
		}
		done := s.Process(to, from)
		if last {
			done = s.Flush(done)
		}
		copy(to, done)
	}
	return out
}

// effect is what the stage took from the samples of all channels.
func (l link) effect() stages.Effect {
	sum := stages.Effect{}
	for _, s := range l.stages {
		sum.Add(s.Effect())
	}
	return sum
}

// effectOn is what a stage that tells tracks apart took from one of a stream.
func (l link) effectOn(track int) stages.Effect {
	sum := stages.Effect{}
	for _, s := range l.stages {
		if t, ok := s.(stages.Teller); ok {
			sum.Add(t.EffectOn(track))
		}
	}
	return sum
}
