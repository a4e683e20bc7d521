package page

import (
	"fmt"
	"html/template"
	"math"

	"ledgerline/pipeline/along"
	"ledgerline/stages"
	"ledgerline/stages/portable"
)

// A gallery has the waveforms around a chain's moments of one kind.
type gallery struct {
	Chain, Note string
	Open        bool
	Waves       []waveView
}

type waveView struct {
	ID, Name, Figure, At, More string
	Picture                    template.HTML
}

// galleries are those of a track's renders.
func (s *sheet) galleries(t *track, m marking, waves func(*render) []along.Wave, words func(*render,
	int) (figure, more string)) []gallery {
	reach := waveReach(t, s.ledger.CeilingDBFS)
	var all []gallery
	for _, r := range t.renders {
		if r.along == nil || len(waves(r)) == 0 {
			continue
		}
		g := gallery{Chain: r.chain, Open: len(all) == 0}
		for k, w := range waves(r) {
			figure, more := words(r, k)
			v := waveView{ID: r.waveID(m, k), Name: m.name(k), Figure: figure,
				At:   clock(float64(w.Frame)/float64(r.along.RateHz), 3),
				More: channel(w.Channel, r.along.Channels)}
			if more != "" {
				v.More += ", " + more
			}
			v.Picture = s.wave(r, w, m, k, reach)
			g.Waves = append(g.Waves, v)
		}
		all = append(all, g)
	}
	return all
}

// cuts are the deepest cuts of a track's renders.
func (s *sheet) cuts(t *track) []gallery {
	return s.galleries(t, cutMarks, func(r *render) []along.Wave {
		return r.along.Cuts
	}, func(r *render, k int) (string, string) {
		cuts := r.whole().DeepestCuts
		if k >= len(cuts) {
			return "", ""
		}
		text := "to silence"
		if by := cuts[k].CutDB; by != nil {
			text = "−" + figure(by, 2) + " dB"
		}
		return text, overText(r, r.along.Cuts[k], s.ledger.CeilingDBFS)
	})
}

// overText says how long the driven input is beyond the ceiling around a cut, in one go.
func overText(r *render, w along.Wave, release float64) string {
	limit := 1e4 * stages.Linear(r.ceiling(release))
	at := int(w.Frame - w.First)
	over := func(i int) bool { return i >= 0 && i < len(w.Driven) && math.Abs(float64(w.Driven[i])) > limit }
	if !over(at) {
		return ""
	}
	from, to := at, at
	for over(from-1) && (w.Driven[from-1] > 0) == (w.Driven[at] > 0) {
		from--
	}
	for over(to+1) && (w.Driven[to+1] > 0) == (w.Driven[at] > 0) {
		to++
	}
	return fixed(1000*float64(to-from+1)/float64(r.along.RateHz), 2) + " ms over"
}

// moments are those furthest over the mask.
func (s *sheet) moments(t *track) []gallery {
	return s.galleries(t, momentMarks, func(r *render) []along.Wave {
		return r.along.Moments
	}, func(r *render, k int) (string, string) {
		moments := r.audibility().Moments
		if k >= len(moments) {
			return "", ""
		}
		m := moments[k]
		return "+" + fixed(m.OverMaskDB, 1) + " dB", fmt.Sprintf("%s to %s", hertz(int(m.FromHz)),
			hertz(int(m.ToHz)))
	})
}

// waveReach is the largest magnitude in the waves of a track, full scale being 1, and at least 2 dB over the
// ceiling: all share a scale.
func waveReach(t *track, ceilingDBFS float64) float64 {
	most := int32(1e4 * stages.Linear(ceilingDBFS+2))
	for _, r := range t.renders {
		if r.along == nil {
			continue
		}
		for _, waves := range [][]along.Wave{r.along.Cuts, r.along.Moments} {
			for _, w := range waves {
				for i := along.Margin; i < len(w.Driven)-along.Margin; i++ {
					most = max(most, w.Driven[i], -w.Driven[i])
				}
			}
		}
	}
	return float64(most) / 1e4
}

const (
	waveWidth  = 200.0
	waveHeight = 120.0
	wavePoints = 264 // about as many as there are
)

// wave draws 3 ms of a channel: the line is what the chain made of it, and what it removed is filled.
func (s *sheet) wave(r *render, w along.Wave, m marking, k int, reach float64) template.HTML {
	driven := make([]float64, len(w.Driven))
	out := make([]float64, len(w.Driven))
	for i, x := range w.Driven {
		driven[i], out[i] = float64(x)/1e4, float64(x)/1e4
		if i < len(w.Removed) {
			out[i] -= float64(w.Removed[i]) / 1e4
		}
	}
	by := max(1, wavePoints/max(1, len(driven)))
	driven, out = between(driven, by), between(out, by)
	most := float64(reach * 1.05)
	y := axis{-most, most, 2 * waveHeight, 0} // in halves, so that coordinates are whole
	places := func(v []float64) []int {
		p := make([]int, len(v))
		for i, x := range v {
			p[i] = int(math.Round(y.within(x)))
		}
		return p
	}
	a, b := places(driven), places(out)
	id := r.waveID(m, k) + "-p"
	d := draw(id, fmt.Sprintf("%s %s of %s", m.what, m.name(k), r.label()),
		fmt.Sprintf("3 ms around %s on the %s channel, from %s of full scale before to %s after, at the most.",
			clock(float64(w.Frame)/float64(r.along.RateHz), 4), channel(w.Channel, r.along.Channels),
			fixed(largest(driven), 2), fixed(largest(out), 2)), waveWidth, waveHeight, "")
	const dx = 4
	wide := float64(dx * max(1, len(a)-1))
	d.add(`<g transform="scale(%.5f .5)">`, waveWidth/wide)
	d.line("g", 0, y.at(0), wide, y.at(0))
	for _, st := range differing(a, b) {
		d.path("cutf", through(dx*st[0], dx, a[st[0]:st[1]])+backwards(dx, b[st[0]:st[1]]))
	}
	if len(b) > 0 {
		d.path("outl", through(0, dx, b))
	}
	d.add("</g>")
	ceiling := stages.Linear(r.ceiling(s.ledger.CeilingDBFS))
	for _, c := range []float64{ceiling, -ceiling} {
		d.line("ceil", 0, y.at(c)/2, waveWidth, y.at(c)/2)
	}
	if k == 0 {
		ms := waveWidth / 3
		d.path("ax", fmt.Sprintf("M4 %vv4h%sv-4", waveHeight-8, number(ms)))
		d.word("m s halo", 8+ms, waveHeight-1, "1 ms")
	}
	return d.done()
}

func largest(v []float64) float64 {
	most := 0.0
	for _, x := range v {
		most = max(most, math.Abs(x))
	}
	return most
}

// differing are the stretches in which two curves are a pixel or more apart, with a point to each side.
func differing(a, b []int) (all [][2]int) {
	from := -1
	for i := 0; i <= len(a); i++ {
		apart := i < len(a) && max(a[i]-b[i], b[i]-a[i]) > 1
		switch {
		case apart && from < 0:
			from = max(0, i-1)
		case !apart && from >= 0:
			all, from = append(all, [2]int{from, min(len(a), i+1)}), -1
		}
	}
	return all
}

// backwards closes a path along another curve, from its end to its start.
func backwards(dx int, y []int) string {
	text := ""
	for i := len(y) - 1; i >= 0; i-- {
		if i == len(y)-1 {
			text += fmt.Sprintf("V%dl", y[i])
			continue
		}
		text += fmt.Sprintf("%d %d ", -dx, y[i]-y[i+1])
	}
	if len(y) == 1 {
		text += "0 0 "
	}
	return text[:len(text)-1] + "z"
}

// between is a wave without its margins at so many times its rate: a sinc of the margins' length to each
// side, under a cosine's square. It is for the eye: meters interpolate with more.
func between(x []float64, by int) []float64 {
	const side = along.Margin
	type tap struct{ sine, angle, window float64 }
	taps := make([][2 * side]tap, by) // of each moment between two frames
	for k := range taps {
		for j := range taps[k] {
			d := float64(j+1-side) - float64(k)/float64(by)
			taps[k][j] = tap{portable.SinPi(d), math.Pi * d, portable.CosPi(d / (2 * side))}
		}
	}
	var all []float64
	for i := side; i < len(x)-side; i++ {
		all = append(all, x[i])
		if i+1 == len(x)-side {
			break
		}
		for k := 1; k < by; k++ {
			sum := 0.0
			for j, t := range taps[k] {
				sum += float64(x[i+j+1-side] * t.sine / t.angle * t.window * t.window)
			}
			all = append(all, sum)
		}
	}
	return all
}
