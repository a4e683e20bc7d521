package page

import (
	"fmt"
	"html/template"
	"math"
)

// balance holds a track's chains against each other at equal loudness: what each buys and what that costs. It
// is nil of a track of one chain.
type balance struct {
	Picture template.HTML
	Caption string
	Figures *table
}

func (s *sheet) balance(t *track) *balance {
	if len(t.renders) < 2 {
		return nil
	}
	quietest := math.Inf(1)
	for _, r := range t.renders {
		if l := value(r.last().LoudnessLUFS); l < quietest {
			quietest = l
		}
	}
	b := &balance{Figures: &table{Caption: "At the loudness of the quietest, " + fixed(quietest, 1) + " LUFS",
		Heads: []head{
			{"chain", "", true}, {"gain to it", "dB", false}, {"true peak then", "dBTP", false}, {"net", "dB", false},
			{"true net", "dB", false},
			{"removed", "dB", false}, {"noise to mask", "dB", false}, {"disturbed", "%", false},
		}, Stack: true}}
	for _, r := range t.renders {
		w, a := r.whole(), r.audibility()
		gain := quietest - value(r.last().LoudnessLUFS)
		disturbed := "none"
		if w.Audibility != nil {
			disturbed = fixed(a.DisturbedPercent, 1)
		}
		b.Figures.add(r.chain, signed(gain, 2), fixed(value(r.last().TruePeakDBTP)+gain, 2),
			signed(value(w.NetDB), 2), signed(value(w.TrueNetDB), 2),
			figure(w.RemovedDB, 1), figure(a.NoiseToMaskDB, 1), disturbed)
	}
	b.Picture, b.Caption = s.costs(t)
	return b
}

// costs draws what each chain buys from left to right, and what may be heard of it from the bottom to the
// top.
func (s *sheet) costs(t *track) (template.HTML, string) {
	const width, height, top, bottom = cardWidth, 190.0, 22.0, 146.0
	least, most := 0.0, 1.0
	low, high := -30.0, -10.0
	any := false
	for _, r := range t.renders {
		x, y := value(r.whole().TrueNetDB), value(r.audibility().NoiseToMaskDB)
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		any = true
		least, most, low, high = min(least, x), max(most, x), min(low, y), max(high, y)
	}
	if !any {
		return "", "Without audibility figures what each buys has no cost to be held against but the level removed."
	}
	words := ""
	x := axis{math.Floor(least), math.Ceil(most + 0.5), cardLeft, width - 74}
	y := axis{float64(math.Floor(low/10)*10) - 5, float64(math.Ceil(high/10)*10) + 5, bottom, top}
	for _, r := range t.renders {
		words += fmt.Sprintf("%s: true net %s dB at %s dB of noise to mask. ", r.chain,
			signed(value(r.whole().TrueNetDB), 2), figure(r.audibility().NoiseToMaskDB, 1))
	}
	d := draw("ba"+t.id, "What each chain of "+t.name+" buys, and what may be heard of it", words,
		width, height, "")
	for _, v := range ticks(y.least, y.most, 4) {
		d.line("g", cardLeft, y.at(v), width-74, y.at(v))
		d.word("e m s", cardLeft-5, y.at(v)+4, fixed(v, 0))
	}
	for _, v := range ticks(x.least, x.most, 6) {
		d.line("ax", x.at(v), bottom, x.at(v), bottom+4)
		d.word("c m s", x.at(v), bottom+17, signed(v, 0))
	}
	d.word("m s", 0, 12, "noise to mask, dB: higher may be heard")
	d.word("m s", cardLeft, bottom+34, "true net, dB: headroom bought at equal loudness")
	var placed []float64
	for _, r := range t.renders {
		net, noise := value(r.whole().TrueNetDB), value(r.audibility().NoiseToMaskDB)
		if math.IsNaN(net) || math.IsNaN(noise) {
			continue
		}
		at, up := x.at(net), y.at(noise)
		d.ring("dot", at, up, 4)
		for _, p := range placed { // labels of chains that cost the same go below each other
			if math.Abs(p-up) < 13 {
				up = p + 13
			}
		}
		placed = append(placed, up)
		d.word("s b halo", at+8, up+4, short(r.chain, 14))
	}
	return d.done(), "Further right buys more, lower is less to be heard."
}
