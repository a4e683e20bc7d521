package meter

import (
	"math"
	"math/bits"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// truePeak is the largest magnitude of the interpolated signal so far, over all
// channels.
//
// Interpolating everything would cost more than all other figures together. So each
// place is first bounded from above, and only what could pass the largest value found
// so far is worked out, step by step:
//
//   - a cell of samples by its largest magnitude and the largest second
//     difference around (most of any programme ends here);
//   - an interval between two samples by those two, by the second differences close by and
//     what there is around near half the rate;
//   - the same interval by a rough value half way, too;
//   - each half of it by rough points;
//   - each half of it by its points, before their parabolas.
//
// The bounds are proven (see margin), so the outcome is that of working out every
// place, to the last bit.
type truePeak struct {
	top          float64
	interpolator *interpolator
	lead         leading
	// the largest magnitude of the frames around the signal that are not its own, see Before
	beyond     float64
	from       int    // the cell in which the signal begins, where frames before it are known, else 0
	fromPlaces uint64 // the intervals of that cell that are the signal's
	end        int    // the cell in which the signal ends; 0: none
	endPlaces  uint64 // the intervals of that cell that are the signal's

	// What is near half the rate in the cell being searched, see wholeBand: by how much it may lift a peak,
	// whether the peaks are apart because of it, and the largest of those.
	near  float64
	apart bool
	held  float64

	// The cell being searched.
	x           []float64
	cell        int
	rough, full sequence
}

// A sequence is a cell doubled, from the sample lead before it on, by groups.
type sequence struct {
	known   uint // a bit says which groups are there
	middles [groups * kernel.Group]float64
	doubled [2 * groups * kernel.Group]float64 // samples and middles in turn
}

const (
	groups = 3
	// lead makes the groups reach past a cell's end as well, by enough for its points,
	// and the last group of a cell the first of the next.
	lead = 24
)

// slack is what rounding could do to a bound.
const slack = 1 - 1e-9

// limit is the magnitude that what a margin knows must pass for a peak to pass the
// floor. No magnitude passes top, or beyond, which are told of every sample
// before it is searched.
func (t *truePeak) limit(m *margin, a around) float64 {
	return (t.floor() - float64(max(t.top, t.beyond)*m.rest) - float64(m.bend*a.bend) -
		float64(m.edge*math.Sqrt(a.edge))) * slack
}

// begin forgets the last cell searched: another signal follows.
func (t *truePeak) begin() { t.cell, t.rough.known, t.full.known = -1, 0, 0 }

// search looks between x[n] and x[n+1] for each n of a cell.
func (t *truePeak) search(c *channel, cell int) {
	a := c.around(cell, &t.interpolator.edge)
	own := t.own(cell)
	if c.whole == nil || max(t.top, t.beyond) < inaudible {
		t.searchPlaces(c, cell, a, t.mayPass(c, cell, a)&own)
		return
	}
	spared := float64(nearSpared * largest(c.peaks[cell-nearby:cell+nearby+1]))
	level := spared
	if t.lead.on { // one that follows finds a little more there
		level -= float64(2 * t.lead.extra)
	}
	t.near = c.mayNear(cell, level)
	places := t.mayPass(c, cell, a)
	if places != 0 && t.near > 0 {
		t.near = min(t.near, c.near(cell, level))
		t.apart = t.near > spared
		places = t.mayPass(c, cell, a)
	}
	if !t.apart {
		places &= own // what is apart is bounded as in a signal that is not cut here
	}
	t.searchPlaces(c, cell, a, places)
	t.leaveApart(c, cell, own)
}

// own is the intervals of a cell that are the signal's.
func (t *truePeak) own(cell int) uint64 {
	own := ^uint64(0)
	if cell == t.from {
		own &= t.fromPlaces
	}
	if cell == t.end {
		own &= t.endPlaces
	}
	return own
}

// mayPass is the intervals of a cell in which a peak may pass the floor, by its samples.
func (t *truePeak) mayPass(c *channel, cell int, a around) uint64 {
	return above(c.x[cell*cellFrames:], t.limit(&t.interpolator.samples, a))
}

// searchPlaces looks in some of the intervals.
func (t *truePeak) searchPlaces(c *channel, cell int, a around, places uint64) {
	if places == 0 {
		return
	}
	if cell != t.cell+1 {
		t.begin()
	}
	t.x, t.cell = c.x, cell
	t.rough.move()
	t.full.move()
	limit := t.limit(&t.interpolator.middles, a)
	samples := above(c.x[cell*cellFrames:], limit)
	for g := range groups {
		set := part(places, g)
		if set == 0 {
			continue
		}
		t.double(&t.rough, &t.interpolator.rough, g)
		set &= part(samples, g) | kernel.Above((*[kernel.Group]float64)(t.rough.middles[g*kernel.Group:]), limit)
		if set != 0 {
			t.searchGroup(g, twice(set), t.limit(&t.interpolator.points, a))
		}
	}
}

// leaveApart leaves what is apart to a transform.
func (t *truePeak) leaveApart(c *channel, cell int, own uint64) {
	if t.held > 0 && own != 0 {
		c.whole.mark(c, cell, own, t.held+t.near)
	}
	t.near, t.apart, t.held = 0, false, 0
}

// above has bit i set where one of x[i] and x[i+1] passes the limit.
func above(x []float64, limit float64) uint64 {
	set := uint64(kernel.Above((*[32]float64)(x), limit)) |
		uint64(kernel.Above((*[32]float64)(x[32:]), limit))<<32
	set |= set >> 1
	if math.Abs(x[cellFrames]) > limit {
		set |= 1 << (cellFrames - 1)
	}
	return set
}

// part is the bits of a cell's set that are of group g.
func part(set uint64, g int) uint32 {
	if at := g*kernel.Group - lead; at > 0 {
		return uint32(set >> at)
	}
	return uint32(set << lead)
}

// move makes the cell the next one. Its first group is the last one's last.
func (s *sequence) move() {
	const last = groups - 1
	if s.known>>last != 0 {
		copy(s.middles[:kernel.Group], s.middles[last*kernel.Group:])
		copy(s.doubled[:2*kernel.Group], s.doubled[2*last*kernel.Group:])
	}
	s.known >>= last
}

// double makes sure of group g of a sequence.
func (t *truePeak) double(s *sequence, d *bandlimit.Doubler, g int) {
	if s.known>>g&1 != 0 {
		return
	}
	s.known |= 1 << g
	from := t.cell*cellFrames - lead + g*kernel.Group
	middles := s.middles[g*kernel.Group:][:kernel.Group]
	d.Between(middles, t.x, from)
	kernel.Zip(s.doubled[2*g*kernel.Group:], t.x[from:][:kernel.Group], middles)
}

// A set of halves has bits 2i and 2i+1 for both halves of the i-th interval of a group.

// twice is the halves of a set of intervals.
func twice(set uint32) uint64 {
	h := uint64(set)
	h = (h | h<<16) & 0x0000ffff0000ffff
	h = (h | h<<8) & 0x00ff00ff00ff00ff
	h = (h | h<<4) & 0x0f0f0f0f0f0f0f0f
	h = (h | h<<2) & 0x3333333333333333
	h = (h | h<<1) & 0x5555555555555555
	return h | h<<1
}

// passing are those of the halves of group g whose peaks may pass the limit.
func (t *truePeak) passing(s *sequence, d *bandlimit.Doubler, g int, halves uint64, limit float64) uint64 {
	// The points of an interval need the middles of three more to each side. There are
	// always groups for those of a cell.
	t.double(s, d, g)
	if bits.TrailingZeros64(halves) < 2*3 {
		t.double(s, d, g-1)
	}
	if bits.LeadingZeros64(halves) < 2*3 {
		t.double(s, d, g+1)
	}
	from := 2 * g * kernel.Group
	for left := halves; left != 0; {
		h := bits.TrailingZeros64(left) &^ 7
		may := t.interpolator.eighths.MayPass(s.doubled[from+h-5:], limit)
		halves &^= uint64(^may) << h
		left &^= 0xff << h
	}
	return halves
}

// searchGroup looks in the halves of group g. No peak can pass the floor where
// no rough one passes the limit.
func (t *truePeak) searchGroup(g int, halves uint64, limit float64) {
	halves = t.passing(&t.rough, &t.interpolator.rough, g, halves, limit)
	if halves == 0 {
		return
	}
	halves = t.passing(&t.full, &t.interpolator.full, g, halves, t.floor()*slack)
	t.lead.found = t.lead.found || halves != 0
	for ; halves != 0; halves &= halves - 1 {
		h := bits.TrailingZeros64(halves)
		top, point := t.interpolator.top(t.full.doubled[2*g*kernel.Group+h-6:])
		if t.apart {
			t.held = max(t.held, top)
			continue
		}
		t.top, t.lead.point = max(t.top, top), max(t.lead.point, point)
	}
}
