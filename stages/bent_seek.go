package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// A lead is the channel that tells how much is taken off all of them at some moment: the one whose magnitude
// is largest, with its sign.
type lead struct {
	channel int
	sign    float64
	zone    int // of the magnitude in the knee
}

// leadOf is the lead among the values of the channels, the first where several are equal, and its magnitude.
func (b *bent) leadOf(value func(channel int) float64) (l lead, most float64) {
	l.sign, most = 1, -1
	for c := range b.at {
		if v := value(c); math.Abs(v) > most {
			l.channel, l.sign, most = c, math.Copysign(1, v), math.Abs(v)
		}
	}
	l.zone = b.zone(most)
	return l, most
}

// seek finds what is taken off in one tile, and the corners from the last value of the
// tile before it to its own last value.
func (b *bent) seek(t int) {
	if !b.awake(t) {
		return
	}
	n := tile * b.factor
	m := t*n - 1
	before, _ := b.leadAt(m)
	for ; m < (t+1)*n-1; m++ {
		l, most := b.leadAt(m + 1)
		if l.zone != below {
			b.takeOff(m+1, l, most)
			for _, p := range b.parts {
				p.active[t] = true
			}
		}
		if l != before || b.mayTurn(m, l) {
			b.between(m, before, l)
		}
		before = l
	}
}

// leadAt is the lead at a value.
func (b *bent) leadAt(m int) (lead, float64) {
	return b.leadOf(func(c int) float64 { return b.at[c].Values()[m] })
}

// takeOff books what is taken off the channels at a value.
func (b *bent) takeOff(m int, l lead, most float64) {
	e := b.excess(most)
	part := e / most
	for c, at := range b.at {
		u := at.Values()[m]
		if math.Abs(u) == most {
			b.parts[c].owed[m] += math.Copysign(e, u)
		} else {
			b.parts[c].owed[m] += float64(part * u)
		}
	}
}

// mayTurn reports whether the signal that leads may be in another zone somewhere between the values m and m+1
// than at both. A parabola through three values lies at most an eighth of its bend further than the middle
// one, other curves not twice that.
func (b *bent) mayTurn(m int, l lead) bool {
	u := b.at[l.channel].Values()[m-1 : m+3]
	if (u[1]-u[0])*(u[3]-u[2]) > 0 {
		return false
	}
	bend := float64(max(math.Abs(u[0]-u[1]+(u[2]-u[1])), math.Abs(u[1]-u[2]+(u[3]-u[2]))) / 4)
	v, w := float64(l.sign*u[1]), float64(l.sign*u[2])
	near := func(level float64) bool { return min(math.Abs(v-level), math.Abs(w-level)) < bend }
	return near(b.ends) || near(b.starts)
}

// between finds the corners between the values m and m+1, at which first and last lead.
func (b *bent) between(m int, first, last lead) {
	if first.zone == below && last.zone == below && !b.mayTurn(m, first) && !b.mayTurn(m, last) {
		return
	}
	for c, at := range b.at {
		b.curves[c] = at.Curve(m)
	}
	b.span(m, -0.5, 0.5, first, last, 2*len(b.at))
}

// span finds the corners from x = from to x = to between two values, at which first and last lead. It looks
// for others that lead in between so many times.
func (b *bent) span(m int, from, to float64, first, last lead, more int) {
	if first.channel == last.channel && first.sign == last.sign {
		b.leg(m, from, to, first, last.zone, 2)
		return
	}
	gap := b.curves[first.channel].Minus(&b.curves[last.channel], first.sign, last.sign)
	x := gap.Cross(0, from, to, false)
	l, most := b.leadOf(func(c int) float64 { v, _, _, _ := b.curves[c].At(x); return v })
	own, _, _, _ := b.curves[first.channel].At(x)
	if more > 0 && most > math.Abs(own)*(1+1e-9) && l.channel != first.channel && l.channel != last.channel {
		b.span(m, from, x, first, l, more-1)
		b.span(m, x, to, l, last, more-1)
		return
	}
	zone := b.zone(first.sign * own)
	b.leg(m, from, x, first, zone, 2)
	if zone != below {
		first.zone = zone
		b.corner(m, x, first, lead{last.channel, last.sign, zone})
	}
	b.leg(m, x, to, lead{last.channel, last.sign, zone}, last.zone, 2)
}

// leg finds the corners from one x to another, between which one channel leads, as it goes from its zone to
// another one. It goes by way of its extremum, if there is one, so many times.
func (b *bent) leg(m int, from, to float64, l lead, zone, more int) {
	c := &b.curves[l.channel]
	if x, ok := c.Extremum(from, to); ok && more > 0 {
		v, _, _, _ := c.At(x)
		top := b.zone(l.sign * v)
		b.leg(m, from, x, l, top, 0)
		l.zone = top
		b.leg(m, x, to, l, zone, 0)
		return
	}
	for l.zone != zone {
		next, level := l, 0.0
		rises := l.zone < zone
		if rises {
			next.zone++
			level = b.level(next.zone)
		} else {
			level = b.level(l.zone)
			next.zone--
		}
		from = c.Cross(l.sign*level, from, to, rises == (l.sign > 0))
		b.corner(m, from, l, next)
		l = next
	}
}

// corner spreads what is owed at x of the interval after value m, before which one lead holds and
// after which another, over the values around it.
func (b *bent) corner(m int, x float64, before, behind lead) {
	was, is := b.seriesAt(x, before), b.seriesAt(x, behind)
	from := m + 1 - bandlimit.Spread/2
	n := tile * b.factor
	for c, p := range b.parts {
		own := series(b.curves[c].Around(x))
		jump := is.off(c, own).minus(was.off(c, own))
		var d [bandlimit.Orders]float64
		k := 1.0
		for i := range d {
			k *= float64(i + 1)
			d[i] = k * jump[i+1]
		}
		b.bends.Add((*[bandlimit.Spread]float64)(p.owed[from:]), x+0.5, &d)
		p.active[from/n], p.active[(from+bandlimit.Spread-1)/n] = true, true
	}
}

// A taking is what a lead takes off, around some moment.
type taking struct {
	channel int
	of      series // the signal of the lead
	own     series // what is taken off it
	part    series // and that in proportion
}

// seriesAt is what a lead takes off around x.
func (b *bent) seriesAt(x float64, l lead) (t taking) {
	t.channel = l.channel
	if l.zone == below {
		return t
	}
	t.of = b.curves[l.channel].Around(x)
	most := t.of.scaled(l.sign)
	e := b.excessOf(most, l.zone)
	t.own = e.scaled(l.sign)
	if len(b.at) > 1 {
		t.part = e.over(most)
	}
	return t
}

// off is what is taken off a channel whose own signal is x.
func (t *taking) off(channel int, x series) series {
	switch {
	case channel == t.channel || x == t.of:
		return t.own
	case x == t.of.scaled(-1):
		return t.own.scaled(-1)
	}
	return x.times(t.part)
}

// awake says whether a value of a tile, or of the one before it, may be in the knee, and then has the values
// around it made.
func (b *bent) awake(t int) bool {
	may := false
	for _, at := range b.at {
		may = may || at.MayPass(t, calm(b.factor)*b.starts)
	}
	before := b.near
	b.near = may
	if !may && !before {
		return false
	}
	for _, at := range b.at {
		for k := t - 1; k <= t+1; k++ {
			at.Fill(k)
		}
	}
	return true
}
