package ledger

import "math"

// Variants prints the variants side by side: per track and variant what it came
// to at the end of its chain.
func (p Printer) Variants(l *Ledger) error {
	g := page{Printer: p}
	g.variants(l)
	return g.flush()
}

func (g *page) variants(l *Ledger) {
	table := grid{columns: []column{
		{head: "track, variant", left: true},
		{head: "sample", unit: "dBFS", gap: 2},
		{head: "true", unit: "dBTP", gap: 2},
		{head: "loudness", unit: "LUFS", gap: 2},
		{head: "net", unit: "dB", gap: 2},
		{gap: 1, left: true},
		{head: "overs", gap: 2},
		{head: "removed", unit: "dB", gap: 2},
	}}
	for i := range l.Tracks {
		t := &l.Tracks[i]
		if i == 0 || l.Tracks[i-1].Name != t.Name {
			table.add(cell{clean(t.Name), strong})
		}
		table.add(t.wholeRow()...)
	}
	g.grid(0, &table)
}

// wholeRow is a variant's row.
func (t *Track) wholeRow() []cell {
	name := "  " + clean(t.Variant)
	if t.Variant == "" {
		name = "  (own chain)"
	}
	var end Boundary
	if n := len(t.Boundaries); n > 0 {
		end = t.Boundaries[n-1]
	}
	net, overs := t.net(), cell{}
	if n, ok := t.oversLeft(); ok {
		overs.text = count(n)
		if n > 0 {
			overs.tone = alarm
		}
	}
	word := map[int]string{1: "bought", -1: "LOST"}[sign(net)]
	return []cell{
		{text: name},
		{text: figure(end.SamplePeakDBFS)},
		{text: figure(end.TruePeakDBTP)},
		{text: figure(end.LoudnessLUFS)},
		{signed(net), toneOf(net)},
		{word, toneOf(net)},
		overs,
		{text: figure(t.removed())},
	}
}

// net is the headroom that the whole chain bought at equal loudness, nil where
// one end has no loudness. It is the sum of its stages' nets.
func (t *Track) net() *float64 {
	if len(t.Boundaries) == 0 {
		return nil
	}
	from, to := t.Boundaries[0], t.Boundaries[len(t.Boundaries)-1]
	return plus(minus(to.HeadroomDB, from.HeadroomDB), minus(to.LoudnessLUFS, from.LoudnessLUFS))
}

// removed is the level of what all stages removed, each relative to what came
// into it: the sum of their powers, as of things that have nothing in common.
// Nil: nothing.
func (t *Track) removed() *float64 {
	power := 0.0
	for _, s := range t.Stages {
		if s.Ceiling != nil && s.Ceiling.RemovedDB != nil {
			power += math.Pow(10, *s.Ceiling.RemovedDB/10)
		}
	}
	return Level(10 * math.Log10(power))
}
