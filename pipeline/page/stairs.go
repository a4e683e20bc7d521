package page

import (
	"fmt"
	"math"
	"strings"
)

// A stair is a boundary at which something has changed since the one before.
type stair struct {
	name               string
	sample, truePeak   float64 // peaks above the ceiling, dB
	change, trueChange float64 // of the headroom: positive is gained
	net, trueNet       float64
}

// stairs are the boundaries of a render, and the stages that changed nothing.
func (s *sheet) stairs(r *render) (all []stair, same []string) {
	for k, b := range r.Boundaries {
		q := stair{name: b.Stage, sample: -value(b.HeadroomDB), truePeak: -value(b.TrueHeadroomDB)}
		if k > 0 {
			x := r.Stages[k-1]
			q.change, q.trueChange, q.net, q.trueNet = value(x.ChangeDB), -value(x.TruePeakChangeDB), value(x.NetDB),
				value(x.TrueNetDB)
			if math.Abs(q.change) < 0.005 && math.Abs(q.trueChange) < 0.005 {
				same = append(same, b.Stage)
				continue
			}
		}
		all = append(all, q)
	}
	return all, same
}

// heights are the levels between which all peaks of a track's renders lie, relative to the ceiling.
func (s *sheet) heights(t *track) (least, most float64) {
	least, most = -1, 1
	for _, r := range t.renders {
		for _, b := range r.Boundaries {
			for _, v := range []float64{-value(b.HeadroomDB), -value(b.TrueHeadroomDB)} {
				if v < least {
					least = v
				}
				if v > most {
					most = v
				}
			}
		}
	}
	return max(math.Floor(least-0.4), -24), min(math.Ceil(most+0.4), 40)
}

const (
	cardWidth = 344.0
	cardLeft  = 40.0 // of it is for labels
)

// staircase draws the peaks at each boundary against the ceiling: lines are by sample, rings the true peak.
func (s *sheet) staircase(t *track, r *render, least, most float64) picture {
	const top, bottom = 22.0, 150.0
	all, same := s.stairs(r)
	p := picture{Figures: s.stairFigures(r), Caption: stairWords(all)}
	d := draw("st"+r.id, "Staircase of headroom, "+r.label(), p.Caption, cardWidth, 194, "")
	y := axis{least, most, bottom, top}
	if most > 0 {
		d.rect("zone", cardLeft, top, cardWidth-cardLeft-2, y.at(0)-top)
	}
	for _, v := range ticks(least, most, 5) {
		if v != 0 {
			d.line("g", cardLeft, y.at(v), cardWidth-2, y.at(v))
		}
		d.word("e m s", cardLeft-5, y.at(v)+4, signed(v, 0))
	}
	d.word("m s", 0, 12, "dB")
	d.word("m s", cardLeft, 12, "peak above the ceiling: line sample, ring true")
	d.line("ceil", cardLeft, y.at(0), cardWidth-2, y.at(0))
	width := (cardWidth - cardLeft - 2) / float64(len(all))
	for k, q := range all {
		if math.IsNaN(q.sample) {
			continue
		}
		from, to := cardLeft+float64(width*float64(k)), cardLeft+float64(width*float64(k+1))
		middle, at := (from+to)/2, y.within(q.sample)
		if k > 0 && !math.IsNaN(q.change) && math.Abs(q.change) >= 0.005 {
			d.arrow(from, y.within(all[k-1].sample), at, q.change)
		}
		d.line("lvl", from+2, at, to-2, at)
		if q.truePeak-q.sample > 0.04 {
			d.line("thin", middle, at, middle, y.within(q.truePeak))
		}
		d.ring("ring", middle, y.within(q.truePeak), 3.4)
		d.word("c s b", middle, bottom+17, short(q.name, int(width/6.6)))
		d.word("c s", middle, bottom+32, signed(q.sample, 2))
	}
	if len(same) > 0 {
		p.Caption += " No change: " + strings.Join(same, ", ") + "."
	}
	p.Picture = d.done()
	return p
}

// arrow goes from one height to another, with what that gained or lost.
func (d *drawing) arrow(x, from, to, change float64) {
	class, tip := "gain", -1.0
	if change < 0 {
		class, tip = "lose", 1
	}
	d.line(class, x, from, x, to)
	if math.Abs(from-to) > 5 {
		d.path(class+"f", fmt.Sprintf("M%s %sl-4 %sh8z", number(x), number(to), number(6*tip)))
	}
	y := float64((from+to)/2) + 4
	if math.Abs(from-to) < 22 {
		y = min(from, to) - 9
	}
	d.word("s halo b "+class+"t", x+6, y, signed(change, 2))
}

// stairWords says what the stages did.
func stairWords(all []stair) string {
	var words []string
	for _, q := range all[1:] {
		switch {
		case math.IsNaN(q.change):
		case q.change < 0:
			words = append(words, fmt.Sprintf("%s loses %s dB", q.name, fixed(-q.change, 2)))
		default:
			words = append(words, fmt.Sprintf("%s gains %s dB", q.name, fixed(q.change, 2)))
		}
	}
	if len(words) == 0 {
		return "No stage changes the headroom."
	}
	return strings.Join(words, ", ") + "."
}

func (s *sheet) stairFigures(r *render) *table {
	t := &table{Caption: "Peaks above the ceiling and what each stage changed, dB, " + r.label(), Hidden: true,
		Heads: []head{
			{"after", "", true}, {"sample", "", false}, {"true", "", false}, {"change", "", false},
			{"net", "", false}, {"true net", "", false},
		}}
	for k, b := range r.Boundaries {
		texts := []string{b.Stage, signed(-value(b.HeadroomDB), 2), signed(-value(b.TrueHeadroomDB), 2), "", "", ""}
		if k > 0 {
			x := r.Stages[k-1]
			texts[3], texts[4], texts[5] = signed(value(x.ChangeDB), 2), signed(value(x.NetDB), 2),
				signed(value(x.TrueNetDB), 2)
		}
		t.add(texts...)
	}
	return t
}
