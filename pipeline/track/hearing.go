package track

import (
	"slices"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/ear"
)

// Hearing is what of a chain's effect is to be held against the mask.
type Hearing struct {
	LevelDBSPL float64 // playback level of a sine at full scale
	Aliasing   bool    // also of each clip, its difference from the band-limited clip
	AliasFrom  int     // the first stage that this is for
}

// A listener hears what stages of one gain did. Its first signal is what they all are held against: the
// programme before the first stage of the chain that cuts, at that gain. The others are boundaries.
type listener struct {
	name    string
	rate    int // Hz
	signals []heard
	reader  *ear.Reader
	compare []ear.Comparison
	clean   *link // makes signal 0 of the first boundary; nil: it is there already

	made  stages.Block       // by clean
	as    audiofile.Encoding // what it makes is limited as an output in it; empty: as it is
	lined [][][]float64      // the signals of a batch, lined up
}

// heard is a boundary, lined up with the others.
type heard struct {
	boundary int
	driven   driven
}

// figure finds the audibility of a stage, or of the chain, in a listener.
type figure struct {
	by         *listener // nil: there is none
	comparison int
}

// Hear holds what the chain and its stages do against what the programme masks.
func (p *Pass) Hear(h Hearing) error {
	p.hearing = h
	p.told, p.aliased = make([]figure, len(p.chain)), make([]figure, len(p.chain))
	_, to, told := stages.Told(p.chain)
	for from := 0; from < to; {
		end := p.rateEnds(from, to)
		if err := p.hearRate(from, end, told && end == to); err != nil {
			return err
		}
		from = end + 1
	}
	return nil
}

// rateEnds is the boundary after the stages from one on that have one rate.
func (p *Pass) rateEnds(from, to int) int {
	for from < to && !p.chain[from].ChangesRate() {
		from++
	}
	return from
}

// hearRate adds the listeners of stages of one rate, and of the whole chain if that ends with them.
func (p *Pass) hearRate(first, to int, whole bool) error {
	for first < to && !p.chain[first].Of().Cuts {
		first++
	}
	if first == to || ear.WindowFrames(p.rates[first]) == 0 {
		return nil
	}
	from := first
	for {
		end := p.gainEnds(from, to)
		p.hearStretch(first, from, end, whole && end == to)
		if end == to {
			return p.hearAliasing(first, to)
		}
		for from = end; from < to && p.chain[from].Of().Multiplies != nil; {
			from++
		}
	}
}

// gainEnds is the boundary after the stages from one on that have one gain.
func (p *Pass) gainEnds(from, to int) int {
	for from < to && p.chain[from].Of().Multiplies == nil {
		from++
	}
	return from
}

// hearStretch adds the listener of the stages between two boundaries, which have one gain, and of the chain
// if the stretch is its last.
func (p *Pass) hearStretch(first, from, end int, whole bool) {
	l := &listener{name: "hearing the chain up to " + p.chain[end-1].Name, rate: p.rates[first]}
	l.add(first, newDriven(p.chain[first:from], p.info.Channels))
	var comparisons []ear.Comparison
	var figures []*figure
	compare := func(f *figure, before, after int) {
		*f = figure{l, len(comparisons)}
		figures = append(figures, f)
		comparisons = append(comparisons, ear.Comparison{Before: before, After: after})
	}
	for k := from; k < end; k++ {
		if !p.chain[k].Of().Cuts || p.brief != nil {
			continue
		}
		before, after := p.signal(l, first, k), p.signal(l, first, k+1)
		compare(&p.told[k], before, after)
	}
	if whole {
		compare(&p.toldWhole, 0, p.signal(l, first, end))
	}
	if len(comparisons) > 0 {
		p.addListener(l, comparisons, figures...)
	}
}

// signal is the number of a boundary's signal in a listener, in whose stretch it is.
func (p *Pass) signal(l *listener, first, boundary int) int {
	if boundary == first {
		return 0
	}
	for i := 1; i < len(l.signals); i++ {
		if l.signals[i].boundary == boundary {
			return i
		}
	}
	return l.add(boundary, newDriven(nil, p.info.Channels))
}

func (l *listener) add(boundary int, d driven) int {
	l.signals = append(l.signals, heard{boundary, d})
	return len(l.signals) - 1
}

// hearAliasing adds a listener for each clip that has a clean one: it hears what the clip did otherwise.
func (p *Pass) hearAliasing(first, to int) error {
	for k := first; k < to; k++ {
		use := p.chain[k]
		if !p.hearing.Aliasing || use.Of().Clean == nil || k < p.hearing.AliasFrom {
			continue
		}
		clean, err := newLink(use.Of().Clean(use), stages.Format{Rate: p.rates[k], Channels: p.info.Channels})
		if err != nil {
			return err
		}
		l := &listener{
			name: "hearing what aliases in " + use.Name, rate: p.rates[k], clean: &clean,
			made: stages.NewBlock(p.info.Channels, 0),
		}
		if k == p.limits {
			l.as = p.joined().limiters[0].encoding
		}
		l.add(k, newDriven(nil, p.info.Channels))
		l.add(k+1, newDriven(nil, p.info.Channels))
		p.aliased[k] = figure{l, 0}
		p.addListener(l, []ear.Comparison{{Before: 0, After: 1, Waveform: true}}, &p.aliased[k])
	}
	return nil
}

// addListener adds a listener that the figures are found in, unless the pass branches off one that has it.
func (p *Pass) addListener(l *listener, comparisons []ear.Comparison, figures ...*figure) {
	l.compare = comparisons
	if other := p.hasHeard(l); other != nil {
		for _, f := range figures {
			f.by = other
		}
		return
	}
	l.reader = ear.NewReader(ear.Options{
		Rate: l.rate, Channels: p.info.Channels, LevelDBSPL: p.hearing.LevelDBSPL, Comparisons: comparisons,
	})
	l.lined = make([][][]float64, len(l.signals))
	p.listeners = append(p.listeners, l)
}

// hasHeard is the listener of another pass that this one branches off, after all that it hears; nil: there is
// none.
func (p *Pass) hasHeard(l *listener) *listener {
	same := func(a, b heard) bool { return a.boundary == b.boundary }
	for shared := l.last(); p.branch.of != nil && shared <= p.branch.shared; p = p.branch.of {
		for _, other := range p.branch.of.listeners {
			if other.name == l.name && slices.EqualFunc(other.signals, l.signals, same) &&
				slices.Equal(other.compare, l.compare) {
				return other
			}
		}
	}
	return nil
}

// last is the boundary that everything the listener hears is there after.
func (l *listener) last() int { return l.signals[len(l.signals)-1].boundary }

// addHearing adds the lanes of the listeners that hear nothing later than boundary k.
func (p *Pass) addHearing(l *lanes, follows []*lane, k int) {
	for _, h := range p.listeners {
		if h.last() == k {
			l.add(h.name, follows, func(b *batch) error {
				h.hear(p, b)
				return nil
			})
		}
	}
}

// hear takes a batch.
func (l *listener) hear(p *Pass, b *batch) {
	frames := -1
	for i := range l.signals {
		s := &l.signals[i]
		l.lined[i] = p.boundary(b, s.boundary)
		if l.clean != nil && i == 0 {
			l.made = l.clean.process(l.made, l.lined[i], b.last)
			for _, x := range l.made {
				l.as.Limit(x)
			}
			l.lined[i] = l.made
		}
		if there := s.driven.waiting() + len(l.lined[i][0]); frames < 0 || there < frames {
			frames = there
		}
	}
	for i := range l.signals {
		l.lined[i] = l.signals[i].driven.input(l.lined[i], frames)
	}
	l.reader.Write(l.lined...)
	if b.last {
		l.reader.End()
	}
	if p.recorder != nil && p.recorder.moments != nil && p.toldWhole.by == l {
		p.recorder.heard(l, p.toldWhole.comparison, b.last)
	}
}

// audibility is what was found, nil where there is none.
func (p *Pass) audibility(f, aliased figure) *ledger.Audibility {
	if f.by == nil {
		return nil
	}
	r, ok := f.by.reader.Reading(f.comparison)
	if !ok {
		return nil
	}
	a := ledger.NewAudibility(r, f.by.rate, p.hearing.LevelDBSPL)
	if aliased.by != nil {
		if r, ok := aliased.by.reader.Reading(aliased.comparison); ok {
			a.Aliased(r)
		}
	}
	return a
}
