package page

import (
	"fmt"
	"html/template"
	"math"
	"slices"
)

// glance is every render in a row.
type glance struct {
	Axis template.HTML
	Rows []glanceRow
}

type glanceRow struct {
	First                                               bool
	Span                                                int
	ID, Name, Chain                                     string
	Strip                                               template.HTML
	Loudness, TruePeak, Range, Net, TrueNet             string
	Removed, Worst, NoiseToMask, Disturbed, Requirement string
	Bad                                                 bool

	moved map[string]bool // by heading, beside the same render of another ledger; nil: there is none
}

// Mark is the class of a cell by its heading.
func (r glanceRow) Mark(heading string) string {
	switch {
	case r.moved == nil && heading == "net":
		return "strong"
	case r.moved == nil:
		return ""
	case r.moved[heading]:
		return "strong"
	}
	return "kept"
}

// told are the cells by their headings.
func (r *glanceRow) told() map[string]string {
	return map[string]string{"loudness": r.Loudness, "true peak": r.TruePeak, "range": r.Range, "net": r.Net,
		"true net": r.TrueNet,
		"removed":  r.Removed, "worst": r.Worst, "noise to mask": r.NoiseToMask, "disturbed": r.Disturbed}
}

// beside notes what differs between the row of an older ledger and that of the same render now.
func beside(old, now *glanceRow) {
	old.moved, now.moved = map[string]bool{}, map[string]bool{}
	is := now.told()
	for heading, was := range old.told() {
		old.moved[heading], now.moved[heading] = was != is[heading], was != is[heading]
	}
}

func (s *sheet) glance() glance {
	a := s.stripAxis()
	g := glance{Axis: s.stripHead(a)}
	for _, t := range s.tracks {
		for i, r := range t.all() {
			w, h := r.whole(), r.audibility()
			row := glanceRow{
				First: i == 0, Span: len(t.all()), ID: t.id, Name: t.name, Chain: r.chain, Strip: s.strip(a, r),
				Loudness: figure(r.last().LoudnessLUFS, 1), TruePeak: figure(r.last().TruePeakDBTP, 2),
				Range: figure(r.last().LoudnessRangeLU, 1), Net: signed(value(w.NetDB), 2),
				TrueNet: signed(value(w.TrueNetDB), 2),
				Removed: figure(w.RemovedDB, 1), Worst: "none", NoiseToMask: figure(h.NoiseToMaskDB, 1),
				Disturbed: "none",
			}
			if w.RemovedWorst400ms != nil {
				row.Worst = figure(w.RemovedWorst400ms.DB, 1)
			}
			if w.Audibility != nil {
				row.Disturbed = fixed(h.DisturbedPercent, 1)
			}
			row.Requirement, row.Bad = r.judged()
			g.Rows = append(g.Rows, row)
			if was := t.before(r); was >= 0 {
				beside(&g.Rows[len(g.Rows)-1-i+was], &g.Rows[len(g.Rows)-1])
			}
		}
	}
	return g
}

const stripWidth = 170.0

// stripAxis has the momentary loudness and the true peak of every render.
func (s *sheet) stripAxis() axis {
	least, most := -12.0, 0.0
	s.each(func(r *render) {
		from, _ := r.usual()
		for _, v := range []float64{from, value(r.last().LoudnessLUFS)} {
			if v < least {
				least = v
			}
		}
		if v := value(r.last().TruePeakDBTP); v > most {
			most = v
		}
	})
	return axis{max(-40, float64(math.Floor(least/5)*5)), math.Ceil(most + 0.3), 6, stripWidth - 8}
}

// usual is what the momentary loudness is between for all but the quietest and the loudest tenth of the
// columns.
func (r *render) usual() (from, to float64) {
	if r.along == nil {
		return value(r.last().LoudnessLUFS), value(r.last().LoudnessLUFS)
	}
	var all []float64
	for _, v := range r.along.Momentary {
		if v > -70 {
			all = append(all, v)
		}
	}
	if len(all) == 0 {
		return math.NaN(), math.NaN()
	}
	slices.Sort(all)
	return all[len(all)/10], all[(len(all)-1)*9/10]
}

func (s *sheet) stripHead(a axis) template.HTML {
	d := &drawing{}
	d.add(`<svg class="px" width="%v" height="30" aria-hidden="true">`, stripWidth)
	ceiling := a.within(s.ledger.CeilingDBFS)
	for _, t := range ticks(a.least, min(a.most, -5), 4) {
		if a.at(t) < ceiling-48 {
			d.word("c m s", a.at(t), 28, fixed(t, 0))
		}
	}
	d.word("e s", min(ceiling+14, stripWidth), 28, "ceiling")
	d.word("s m", 6, 12, "▍loudness")
	d.word("s m e", stripWidth-8, 12, "true peak ○")
	return d.done()
}

// strip has a render's loudness and true peak on the axis of all. Its figures are in the cells beside it.
func (s *sheet) strip(a axis, r *render) template.HTML {
	d := &drawing{}
	d.add(`<svg class="px" width="%v" height="22" aria-hidden="true">`, stripWidth)
	for _, t := range ticks(a.least, min(a.most, -5), 4) {
		d.line("g", a.at(t), 0, a.at(t), 22)
	}
	ceiling := a.within(s.ledger.CeilingDBFS)
	d.line("ceil", ceiling, 0, ceiling, 22)
	loudness, peak := value(r.last().LoudnessLUFS), value(r.last().TruePeakDBTP)
	if !math.IsNaN(loudness) && !math.IsNaN(peak) {
		from, to := r.usual()
		if from < to {
			d.rect("soft", a.within(from), 7, a.within(to)-a.within(from), 8)
		}
		d.line("thin", a.within(loudness), 11, a.within(peak), 11)
		d.rect("after", a.within(loudness)-1.5, 3, 3, 16)
	}
	if !math.IsNaN(peak) {
		class := "ring"
		if peak > s.ledger.CeilingDBFS+0.005 {
			class = "ring over"
		}
		d.ring(class, a.within(peak), 11, 4)
	}
	return d.done()
}

// facts are what the release is made of.
func (s *sheet) facts() string {
	chains, deliveries := 0, 0
	for _, t := range s.tracks {
		n := 0
		for _, r := range t.present() {
			if r.Delivery == "" {
				n++
			} else {
				deliveries++
			}
		}
		chains = max(chains, n)
	}
	text := fmt.Sprintf("%s, %s, %s; ceiling %s dBFS.", many(len(s.tracks), "track"),
		clock(s.ledger.Totals.DurationS, 1),
		many(chains, "chain"), fixed(s.ledger.CeilingDBFS, 2))
	if deliveries > 0 {
		text += " " + deliveriesText(deliveries) + "."
	}
	if n := s.ledger.Totals.Overs; n > 0 {
		text += fmt.Sprintf(" %s over the last ceiling.", many(n, "sample"))
	}
	return text
}
