package page

import (
	"fmt"
	"html/template"
	"math"
)

// order is the release in time: its tracks one after the other, as long as they are.
type order struct {
	Ticks   []tick
	Pieces  []piece
	Caption string
}

type tick struct {
	At    template.CSS // from the top or the left
	Label string
	Odd   bool // left out on a narrow page
	Class string
}

type piece struct {
	ID, Name, Loudness string
	Grow               template.CSS // its part of the width
	At                 template.CSS // of its loudness, from the top
	Picture            template.HTML
}

// order is nil where there is no record of any track.
func (s *sheet) order() *order {
	least, most := s.loudnessSpan()
	if !(least < most) {
		return nil
	}
	a := axis{most, least, 0, 100} // from the top
	o := &order{}
	for _, v := range ticks(least, most, 5) {
		o.Ticks = append(o.Ticks, tick{At: a.percent(v), Label: fixed(v, 0)})
	}
	loudest, quietest := (*render)(nil), (*render)(nil)
	for _, t := range s.tracks {
		r := t.master()
		p := piece{ID: t.id, Name: t.name, Grow: template.CSS(fmt.Sprintf("%.3f", max(r.Source.DurationS, 0.01)))}
		p.Picture = loudnessOf(r, "o-"+t.id, least, most)
		if l := value(r.last().LoudnessLUFS); !math.IsNaN(l) {
			p.Loudness, p.At = fixed(l, 1), a.percent(min(max(l, least), most))
			if loudest == nil || l > *loudest.last().LoudnessLUFS {
				loudest = r
			}
			if quietest == nil || l < *quietest.last().LoudnessLUFS {
				quietest = r
			}
		}
		o.Pieces = append(o.Pieces, p)
	}
	o.Caption = "Momentary loudness (400 ms) of the masters, " + s.tracks[0].master().chain +
		", in LUFS; the line is each track's integrated loudness."
	if loudest != nil && loudest != quietest {
		o.Caption += fmt.Sprintf(" Loudest is %s, quietest %s, %s LU apart.", loudest.Name, quietest.Name,
			fixed(*loudest.last().LoudnessLUFS-*quietest.last().LoudnessLUFS, 1))
	}
	return o
}

// loudnessSpan is what the loudness of all tracks' first chains is between, in whole steps of 6 LU.
func (s *sheet) loudnessSpan() (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, t := range s.tracks {
		if r := t.master(); r.along != nil {
			from, _ := r.usual()
			if to := r.along.Momentary.Largest(); !math.IsNaN(from) && !math.IsNaN(to) {
				least, most = min(least, from), max(most, to)
			}
		}
	}
	if math.IsInf(most, 0) {
		return 0, 0
	}
	return max(-60, float64(math.Floor(least/6)*6)-6), float64(math.Ceil(most/6+0.01) * 6)
}

// loudnessOf draws the momentary loudness of a render between two levels.
func loudnessOf(r *render, id string, least, most float64) template.HTML {
	if r.along == nil || len(r.along.Momentary) == 0 {
		return ""
	}
	v := lane(r.along.Momentary, most, least, most)
	d := draw(id, "Momentary loudness of "+r.Name,
		fmt.Sprintf("From %s to %s LUFS for all but the quietest and loudest tenth.",
			fixed(first(r.usual()), 1), fixed(second(r.usual()), 1)), float64(len(v)), 10*(most-least), "none")
	floor := int(math.Round(10 * (most - least)))
	d.path("softf", steps(v, floor, true))
	if l := value(r.last().LoudnessLUFS); !math.IsNaN(l) {
		y := 10 * (most - min(max(l, least), most))
		d.line("outl", 0, y, float64(len(v)), y)
	}
	return d.done()
}

func first(a, _ float64) float64  { return a }
func second(_, b float64) float64 { return b }

// lane is levels as places from the top, in tenths of a decibel. What is none, or below least, is at least.
func lane(levels []float64, top, least, most float64) []int {
	v := make([]int, len(levels))
	for i, x := range levels {
		if !(x > least) {
			x = least
		}
		v[i] = int(math.Round(float64(10 * (top - min(x, most)))))
	}
	return v
}
