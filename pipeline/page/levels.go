package page

import (
	"fmt"
	"math"

	"ledgerline/pipeline/along"
	"ledgerline/stages/portable"
)

// levels draws how often each level near the ceiling occurs, before and after. The share of samples in each
// step is on a scale of powers of ten.
func (s *sheet) levels(t *track, r *render) picture {
	if r.along == nil || r.along.Near == nil {
		return picture{}
	}
	const top, bottom, least = 26.0, 118.0, -6 // powers of ten
	n := r.along.Near
	most := mostStep(t, n)
	at, over := sums(n)
	p := picture{Figures: levelFigures(r),
		Caption: fmt.Sprintf("%s of the driven samples are beyond the ceiling of %s dBFS; %s of the master's are "+
			"within 0.2 dB of it or beyond.",
			share(over), fixed(n.CeilingDBFS, 2), share(at))}
	d := draw("le"+r.id, "How often levels near the ceiling occur, "+r.label(), p.Caption, cardWidth, 150, "")
	x := axis{n.FromDB, n.FromDB + float64(float64(most)*n.StepDB), cardLeft, cardWidth - 2}
	y := axis{least, 0, bottom, top}
	for k := least; k <= 0; k++ {
		d.line("g", cardLeft, y.at(float64(k)), cardWidth-2, y.at(float64(k)))
	}
	for _, l := range []struct {
		at   float64
		text string
	}{{-4, ".01 %"}, {-2, "1 %"}, {0, "100 %"}} {
		d.word("e m s", cardLeft-4, y.at(l.at)+4, l.text)
	}
	for _, v := range ticks(x.least, x.most, 6) {
		d.word("c m s", min(x.at(v), cardWidth-10), bottom+15, signed(v, 0))
	}
	ceiling := int(math.Round(-n.FromDB / n.StepDB))
	shape := func(counts []int64, from int) string {
		v := make([]int, most)
		for k := range v {
			v[k] = 10 * -least
			if k < len(counts) && k >= from && counts[k] > 0 {
				v[k] = int(math.Round(-10 * max(least, portable.Log10(float64(counts[k])/float64(n.Samples)))))
			}
		}
		return steps(v, 10*-least, true)
	}
	place := fmt.Sprintf(`<g transform="matrix(%.4f 0 0 %.4f %v %v)">`, (cardWidth-2-cardLeft)/float64(most),
		(bottom-top)/(10*-least), cardLeft, top)
	d.add("%s", place)
	d.path("softf", shape(n.After, 0))
	d.path("cutf", shape(n.Before, ceiling))
	d.path("after", shape(n.After, ceiling-1))
	d.path("drv", shape(n.Before, 0))
	d.add("</g>")
	d.line("ceil", x.at(0), top-4, x.at(0), bottom)
	d.word("m s", cardLeft, 12, "share of samples per 0.1 dB")
	d.word("s e halo", x.at(0)-6, top+9, share(at)+" at it")
	d.word("s halo cutt", x.at(0)+6, top+9, share(over)+" over")
	d.word("m s", cardLeft, 148, "level, dB from the ceiling")
	p.Picture = d.done()
	return p
}

// mostStep is how many steps the pictures of a track have: up to 3 dB over the ceiling or more.
func mostStep(t *track, n *along.Near) int {
	most := int(math.Round((3 - n.FromDB) / n.StepDB))
	for _, r := range t.renders {
		if r.along != nil && r.along.Near != nil {
			most = max(most, len(r.along.Near.Before), len(r.along.Near.After))
		}
	}
	return (most + 9) / 10 * 10
}

// sums are the shares of the master's samples that are within 0.2 dB of the ceiling or beyond, and of the
// driven ones beyond.
func sums(n *along.Near) (at, over float64) {
	ceiling := int(math.Round(-n.FromDB / n.StepDB))
	for k, c := range n.After {
		if k >= ceiling-2 {
			at += float64(c)
		}
	}
	for k, c := range n.Before {
		if k >= ceiling {
			over += float64(c)
		}
	}
	return at / float64(n.Samples), over / float64(n.Samples)
}

func levelFigures(r *render) *table {
	n := r.along.Near
	t := &table{
		Caption: "Share of samples by level, " + r.label(), Hidden: true,
		Heads: []head{{"dB from the ceiling", "", true}, {"before", "", false}, {"after", "", false}},
	}
	count := func(counts []int64, from int) string {
		sum := int64(0)
		for k := from; k < from+10 && k < len(counts); k++ {
			sum += counts[k]
		}
		return share(float64(sum) / float64(n.Samples))
	}
	for k := 0; k < max(len(n.Before), len(n.After)); k += 10 {
		from := n.FromDB + float64(float64(k)*n.StepDB)
		t.add(signed(from, 0)+" to "+signed(from+1, 0), count(n.Before, k), count(n.After, k))
	}
	return t
}
