package page

import (
	"fmt"
	"math"
	"strings"

	"ledgerline/pipeline/along"
	"ledgerline/stages/portable"
)

// spectrum draws the programme, its mask and what was changed.
func (s *sheet) spectrum(r *render) picture {
	if r.along == nil {
		return picture{}
	}
	if r.along.Spectrum == nil {
		return picture{Caption: "No spectrum: nothing was changed, or audibility is not measured."}
	}
	const top, bottom = 22.0, 134.0
	p := picture{Figures: spectrumFigures(r), Caption: r.nearest()}
	d := draw("sp"+r.id, "Spectrum of the programme, its mask and what was changed, "+r.label(), p.Caption,
		cardWidth, 164, "")
	x, y := axis{portable.Log10(80), portable.Log10(18000), cardLeft, cardWidth - 2}, axis{-100, 0, bottom, top}
	for _, v := range []float64{-100, -75, -50, -25, 0} {
		d.line("g", cardLeft, y.at(v), cardWidth-2, y.at(v))
		d.word("e m s", cardLeft-5, y.at(v)+4, fixed(v, 0))
	}
	for _, hz := range []int{100, 300, 1000, 3000, 10000} {
		at := x.at(portable.Log10(float64(hz)))
		d.line("ax", at, bottom, at, bottom+3)
		d.word("c m s", at, bottom+15, kilo(hz))
	}
	sp := r.along.Spectrum
	curve := func(levels []float64) string {
		var b strings.Builder
		for k, v := range levels {
			if !(v > y.least) {
				v = y.least
			}
			fmt.Fprintf(&b, "%c%s %s", "ML"[min(k, 1)], number(x.within(portable.Log10(float64(sp.Hz[k])))),
				number(y.within(v)))
		}
		return b.String()
	}
	changed := curve(sp.Changed)
	from, to := x.within(portable.Log10(float64(sp.Hz[0]))),
		x.within(portable.Log10(float64(sp.Hz[len(sp.Hz)-1])))
	d.path("cutf pale", fmt.Sprintf("%sL%s %sL%s %sz", changed, number(to), number(bottom), number(from),
		number(bottom)))
	d.path("cutl", changed)
	d.path("mask", curve(sp.Mask))
	d.path("prog", curve(sp.Programme))
	d.word("m s", cardLeft, 12, "dB, quarter Barks, where anything was changed")
	d.word("m s", 0, bottom+15, "Hz")
	top3 := func(k int) float64 { return max(largestNear(sp.Programme, k), largestNear(sp.Mask, k)) }
	d.word("s halo", x.at(portable.Log10(150)), y.within(top3(bandAt(sp, 200)))-8, "programme")
	d.word("s e halo", cardWidth-2, y.within(top3(bandAt(sp, 8000)))-8, "mask (dashed)")
	d.word("s cutt", x.at(portable.Log10(150)),
		min(bottom-5, y.within(leastNear(sp.Changed, bandAt(sp, 200)))+14), "changed")
	p.Picture = d.done()
	return p
}

// kilo is a frequency on an axis.
func kilo(hz int) string {
	if hz >= 1000 {
		return fmt.Sprint(hz/1000) + "k"
	}
	return fmt.Sprint(hz)
}

// bandAt is the band that a frequency is in.
func bandAt(sp *along.Spectrum, hz int) int {
	k := 0
	for k+1 < len(sp.Hz) && sp.Hz[k+1] <= hz {
		k++
	}
	return k
}

// leastNear is the least level of a stretch around band k.
func leastNear(levels []float64, k int) float64 {
	least := math.Inf(1)
	for _, v := range levels[max(0, k-4):min(len(levels), k+14)] {
		if v < least {
			least = v
		}
	}
	return max(least, -100)
}

// largestNear is the largest level of a stretch around band k.
func largestNear(levels []float64, k int) float64 {
	most := math.Inf(-1)
	for _, v := range levels[max(0, k-4):min(len(levels), k+14)] {
		if v > most {
			most = v
		}
	}
	return max(most, -100)
}

// nearest says where what was changed comes nearest to the mask.
func (r *render) nearest() string {
	sp := r.along.Spectrum
	best, at := math.Inf(-1), -1
	for k := range sp.Hz {
		if over := sp.Changed[k] - sp.Mask[k]; over > best {
			best, at = over, k
		}
	}
	if at < 0 {
		return "Nothing was changed."
	}
	word := "below"
	if best > 0 {
		word = "above"
	}
	return fmt.Sprintf("Nearest to the mask at %s: %s dB %s, in the mean of the windows in which anything "+
		"was changed.",
		hertz(sp.Hz[at]), fixed(math.Abs(best), 0), word)
}

func spectrumFigures(r *render) *table {
	sp := r.along.Spectrum
	t := &table{
		Caption: "Spectrum, dB, " + r.label(), Hidden: true,
		Heads: []head{{"band", "", true}, {"programme", "", false}, {"mask", "", false}, {"changed", "", false}},
	}
	for k := 4; k < len(sp.Hz); k += 8 {
		t.add(hertz(sp.Hz[k]), fixed(sp.Programme[k], 0), fixed(sp.Mask[k], 0), fixed(sp.Changed[k], 0))
	}
	return t
}
