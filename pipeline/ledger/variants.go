package ledger

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
		{head: "sample", unit: "dBFS", gap: 2, spare: 4},
		{head: "true", unit: "dBTP", gap: 2},
		{head: "loudness", unit: "LUFS", gap: 1},
		{head: "net", unit: "dB", gap: 1},
		{head: "true net", unit: "dB", gap: 1, spare: 3},
		{head: "verdict", gap: 1, left: true, spare: 1},
		{head: "overs", gap: 1, spare: 2},
		{head: "removed", unit: "dB", gap: 1},
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
	_, end := t.ends()
	overs := cell{}
	if n, ok := t.oversLeft(); ok {
		overs.text = count(n)
		if n > 0 {
			overs.tone = alarm
		}
	}
	o := t.outcome()
	word, tone := o.bought()
	return []cell{
		{text: name},
		{text: figure(end.SamplePeakDBFS)},
		{text: figure(end.TruePeakDBTP)},
		{text: figure(end.LoudnessLUFS)},
		{signed(o.net), o.toneOf(o.net)},
		{signed(o.trueNet), o.toneOf(o.trueNet)},
		{word, tone},
		overs,
		{text: figure(t.removed())},
	}
}

// removed is the level of what the whole chain removed. Nil: nothing, or the entry
// was written by a version that did not know.
func (t *Track) removed() *float64 {
	if t.Whole == nil {
		return nil
	}
	return t.Whole.RemovedDB
}
