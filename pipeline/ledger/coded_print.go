package ledger

import "fmt"

// Coders prints what came back of deliveries from their coders: a line for each delivery and coder, about the
// track whose true peak is the highest, or one for each track, too. It prints nothing where nothing was
// checked.
func (p Printer) Coders(tracks []*Track, each bool) error {
	g := page{Printer: p}
	for _, s := range throughCoders(tracks) {
		g.line(0, s.tone(), s.String())
		for _, x := range s.all {
			if each {
				g.line(2, x.tone(), fmt.Sprintf("%s: %s", clean(Label(x.track.Name, x.track.Variant)), x.Coded))
			}
		}
	}
	return g.flush()
}

// A wayThrough is a delivery's way through a coder, over its tracks.
type wayThrough struct {
	delivery, coder string
	all             []codedTrack
}

// codedTrack is what came back of one track.
type codedTrack struct {
	*Coded
	track *Track
}

// throughCoders are the ways of all deliveries, in the order in which they are first met.
func throughCoders(tracks []*Track) (all []*wayThrough) {
	at := map[[2]string]*wayThrough{}
	for _, t := range tracks {
		for i := range t.Coders {
			key := [2]string{t.Version(), t.Coders[i].Coder}
			if at[key] == nil {
				at[key] = &wayThrough{delivery: key[0], coder: key[1]}
				all = append(all, at[key])
			}
			at[key].all = append(at[key].all, codedTrack{&t.Coders[i], t})
		}
	}
	return all
}

// String is a way in a line.
func (w *wayThrough) String() string {
	text := fmt.Sprintf("%s through %s: ", clean(w.delivery), clean(w.coder))
	var top *codedTrack
	lowered, hold, in := 0.0, "", ""
	for i := range w.all {
		x := &w.all[i]
		if x.TruePeakDBTP != nil && (top == nil || *x.TruePeakDBTP > *top.TruePeakDBTP) {
			top = x
		}
		if s := x.Solved; s != nil && s.CeilingDBFS != nil {
			if by := s.DeclaredDBFS - *s.CeilingDBFS; by > lowered {
				lowered, hold, in = by, s.Stage, x.track.Name
			}
		}
	}
	if top == nil {
		return text + "silence"
	}
	text += "true peak " + top.peak()
	if len(w.all) > 1 {
		text += fmt.Sprintf(" in %s, the highest of %s", clean(top.track.Name), many(len(w.all), "track"))
	}
	if lowered > 0 {
		most, where := "", ""
		if len(w.all) > 1 {
			most, where = "up to ", ", in "+clean(in)
		}
		text += fmt.Sprintf("; %s lowered by %s%s dB%s", clean(hold), most, fixed(lowered), where)
	}
	return text
}

func (w *wayThrough) tone() tone {
	for _, x := range w.all {
		if x.tone() != plain {
			return x.tone()
		}
	}
	return plain
}

// tone is alarm where what was required failed.
func (c *Coded) tone() tone {
	if !c.Passed {
		return alarm
	}
	return plain
}

// peak is the true peak in words, by how much it has grown, and where it is.
func (c *Coded) peak() string {
	text := figure(c.TruePeakDBTP) + " dBTP"
	if c.TrueGrowthDB != nil {
		text += fmt.Sprintf(" (%s dB)", signed(c.TrueGrowthDB))
	}
	if c.TruePeakTimeS != nil {
		text += fmt.Sprintf(" at %.3f s, channel %d", *c.TruePeakTimeS, c.TruePeakChannel)
	}
	return text
}

// String is what came back in words.
func (c *Coded) String() string {
	if c.TruePeakDBTP == nil {
		return "silence"
	}
	text := "true peak " + c.peak()
	if c.Solved != nil {
		text += "; " + c.Solved.String()
	}
	return text
}

// String is the search in words.
func (s *Solved) String() string {
	switch {
	case s.CeilingDBFS == nil:
		return fmt.Sprintf("no ceiling of %s from %v down to %v dBFS keeps the limit (%d rounds); the "+
			"delivery has its own", clean(s.Stage), s.DeclaredDBFS, s.LowestDBFS, s.Rounds)
	case *s.CeilingDBFS == s.DeclaredDBFS:
		return fmt.Sprintf("%s keeps its ceiling of %v dBFS", clean(s.Stage), s.DeclaredDBFS)
	}
	return fmt.Sprintf("%s lowered from %v to %v dBFS (%d rounds)", clean(s.Stage), s.DeclaredDBFS,
		*s.CeilingDBFS, s.Rounds)
}
