package track

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// reader is where the frames of a pass come from.
type reader interface {
	Read(dst stages.Block) (int, error)
}

// A stream is several mixes that run into each other: the chain gets them as one signal,
// from the first frame of the first to the last of the last.
//
// Each of them is a part: a pass without a chain of its own, with its own files, meters and
// figures, which get the frames that are its own. The stream has meters besides, for the
// holds' promises: a peak across a cut is the stream's.
type stream struct {
	parts   []*Pass
	members []Member

	at   int          // the member being read
	view stages.Block // the part of a caller's block that is being filled
}

// A part is where in its stream a pass has its frames. A pass that has no stream is
// all of its own.
type part struct {
	of           *Pass // the pass of its stream; nil: it has none
	number       int
	starts, ends []int64 // at each boundary
}

// A Member is one of the mixes of a stream.
type Member struct {
	Name string // its track's
	In   *Input
}

// MemberError is what went wrong with one of a stream's mixes.
type MemberError struct {
	Member int // by its place in the stream
	Err    error
}

func (e *MemberError) Error() string { return e.Err.Error() }
func (e *MemberError) Unwrap() error { return e.Err }

// NewStreams is NewTree for several mixes that run into each other: meters and outputs are of the passes'
// Parts. It fails if the mixes are not of one rate and the same channels.
func NewStreams(members []Member, branches []Branch, o Options) (*Tree, error) {
	info := members[0].In.Info()
	info.Frames = 0
	var ends []int64
	for i, m := range members {
		is := m.In.Info()
		if err := Joins(members[0].Name, members[0].In.Info(), m.Name, is); err != nil {
			return nil, &MemberError{i, err}
		}
		if is.Encoding.WordBits() == 0 {
			info.Encoding = is.Encoding // its samples need not be finite
		}
		info.Frames += is.Frames
		ends = append(ends, info.Frames)
	}
	t := newTree(&stream{members: members}, info, ends, branches, o)
	for _, p := range t.made {
		p.odd.ends = ends
		p.divide(members, ends)
	}
	return t, nil
}

// divide gives a pass through several mixes its parts. Where it branches off another, they do so off the
// other's.
func (p *Pass) divide(members []Member, ends []int64) {
	p.stream = &stream{members: members}
	start := int64(0)
	for i, m := range members {
		part := &Pass{
			info: m.In.Info(), chain: p.chain, rates: p.rates, links: p.links, limits: p.limits, frames: p.frames,
			part: p.newPart(i, start, ends[i]),
		}
		if of := p.branch.of; of != nil {
			part.branch.of, part.branch.shared = of.stream.parts[i], p.branch.shared
		}
		p.stream.parts = append(p.stream.parts, part)
		start = ends[i]
	}
}

// newPart is where a part is that begins and ends at frames of the input.
func (p *Pass) newPart(number int, start, end int64) part {
	n := part{of: p, number: number}
	for k := range p.rates {
		n.starts, n.ends = append(n.starts, p.frameAt(start, k)), append(n.ends, p.frameAt(end, k))
	}
	return n
}

// Joins fails with a *FormError if two mixes cannot be one stream.
func Joins(first string, a audiofile.Info, second string, b audiofile.Info) error {
	var what, is, other string
	switch {
	case a.Rate != b.Rate:
		what, is, other = "rates", fmt.Sprintf("%d Hz", a.Rate), fmt.Sprintf("%d Hz", b.Rate)
	case a.Channels != b.Channels:
		what, is, other = "numbers of channels", fmt.Sprint(a.Channels), fmt.Sprint(b.Channels)
	case a.Mask != b.Mask:
		what, is, other = "channel masks", fmt.Sprintf("%#x", a.Mask), fmt.Sprintf("%#x", b.Mask)
	default:
		return nil
	}
	return &FormError{
		fmt.Sprintf("%q and %q run into each other and have different %s: %s and %s; want mixes of one form, or "+
			"no such group", first, second, what, is, other),
	}
}

// FormError says that mixes are not of the form that their render takes: two that are to run into each other
// differ, or one has a rate at which a stage of the chain does not work, or more channels than its output can
// have.
type FormError struct{ text string }

func (e *FormError) Error() string { return e.text }

// Parts are the passes of a stream's mixes, in its order; none of a pass through one mix.
func (p *Pass) Parts() []*Pass {
	if p.stream == nil {
		return nil
	}
	return p.stream.parts
}

// Read fills dst with the frames that come next, across the ends of mixes.
func (s *stream) Read(dst stages.Block) (int, error) {
	frames, done := dst.Frames(), 0
	s.view = withChannels(s.view, len(dst))
	for done < frames && s.at < len(s.members) {
		for c := range dst {
			s.view[c] = dst[c][done:]
		}
		m := s.members[s.at]
		n, err := m.In.Read(s.view)
		if err != nil && !errors.Is(err, io.EOF) {
			return done, &MemberError{s.at, err}
		}
		if done += n; done < frames {
			s.at++
		}
	}
	if done < frames {
		return done, io.EOF
	}
	return done, nil
}

// SumAll is the hashes of mixes, all of whose audio has been read.
func SumAll(ctx context.Context, members []Member) (each []string, all string, err error) {
	for i, m := range members {
		sha, err := m.In.Sum(ctx)
		if err != nil {
			return nil, "", &MemberError{i, err}
		}
		each = append(each, sha)
	}
	return each, strings.Join(each, " "), nil
}

// effect is what stage k took from the samples of a pass. In a stream what a stage cuts
// is found by comparing, and what a limit or a clamp did the stage tells.
func (p *Pass) effect(k int) stages.Effect {
	if p.part.of == nil {
		return p.links[k].effect()
	}
	e := p.links[k].effectOn(p.part.number)
	if c := p.cuts[k]; c != nil {
		e.Touched, e.Cut = c.touched, c.deepest
	}
	return e
}

// addParts adds lanes after boundary k: to a pass of one mix as they are; to one of a stream
// those of all parts, each of which gets its own frames. The lanes of one kind are one
// lane for all parts, since no two of them have frames at the same time.
func (p *Pass) addParts(l *lanes, k int, add func(*Pass, *lanes)) {
	p.addPartsAt(l, k, (*Pass).place, add)
}

// place is where a part has its frames.
func (p *Pass) place() part { return p.part }

// addPartsAt is addParts for parts that have their frames where at says.
func (p *Pass) addPartsAt(l *lanes, k int, at func(*Pass) part, add func(*Pass, *lanes)) {
	if p.stream == nil {
		add(p, l)
		return
	}
	var kinds [][]*lane
	for _, part := range p.stream.parts {
		var own lanes
		add(part, &own)
		kinds = append(kinds, own.all)
	}
	for i, n := range kinds[0] {
		cut := cutter{p: p, had: make([]int64, k+1)}
		for _, part := range p.stream.parts {
			cut.parts = append(cut.parts, at(part))
		}
		cut.own.at, cut.own.marks = make([]stages.Block, k+1), make([][]meter.Mark, k+1)
		for part := range kinds {
			cut.work = append(cut.work, kinds[part][i].work)
		}
		l.add(n.name, n.follows, cut.batch)
	}
}

// A cutter gives each part of a stream its own frames of every batch.
type cutter struct {
	p     *Pass
	parts []part               // where they have their frames
	work  []func(*batch) error // of each part
	had   []int64              // frames that each boundary has had
	own   batch                // what a part has of a batch
}

func (c *cutter) batch(b *batch) error {
	for i, part := range c.parts {
		if !c.share(b, part) {
			continue
		}
		if err := c.work[i](&c.own); err != nil {
			return err
		}
	}
	for k := range c.had {
		c.had[k] += int64(c.p.boundary(b, k).Frames())
	}
	return nil
}

// share finds what a part has of a batch, and whether that is anything.
func (c *cutter) share(b *batch, p part) bool {
	any := false
	for k, had := range c.had {
		frames := int64(b.at[k].Frames())
		from := min(max(p.starts[k]-had, 0), frames)
		to := max(min(p.ends[k]-had, frames), from)
		c.own.at[k] = window(c.own.at[k], b.at[k], from, to)
		if k == 0 {
			c.own.in = window(c.own.in, b.in, from, to)
		}
		any = any || to > from
		c.own.last = from < to && had+to == p.ends[k] // at the last of the boundaries
	}
	return any
}

// window is frames of a block; to has the memory for its slices.
func window(to, b stages.Block, from, end int64) stages.Block {
	to = withChannels(to, len(b))
	for c := range b {
		to[c] = b[c][from:end:end]
	}
	return to
}
