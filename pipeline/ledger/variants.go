package ledger

// Variants prints variants and deliveries side by side: per track what each came
// to at the end of its chain.
func (p Printer) Variants(l *Ledger) error {
	g := page{Printer: p}
	g.variants(l)
	return g.flush()
}

func (g *page) variants(l *Ledger) {
	table := grid{columns: []Column{
		{Head: versionHead(l), Left: true},
		{Head: "sample", Unit: "dBFS", Gap: 2, Spare: 4},
		{Head: "true", Unit: "dBTP", Gap: 2},
		{Head: "loudness", Unit: "LUFS", Gap: 1},
		{Head: "net", Unit: "dB", Gap: 1},
		{Head: "true net", Unit: "dB", Gap: 1, Spare: 3},
		{Head: "verdict", Gap: 1, Left: true, Spare: 1},
		{Head: "overs", Gap: 1, Spare: 2},
		{Head: "removed", Unit: "dB", Gap: 1},
	}}
	all := l.Ordered()
	for i, t := range all {
		if i == 0 || all[i-1].Name != t.Name {
			table.add(cell{clean(t.Name), strong})
		}
		table.add(t.wholeRow()...)
	}
	g.grid(0, &table)
}

// versionHead says what the rows of a ledger are of.
func versionHead(l *Ledger) string {
	variants, deliveries := false, false
	for i := range l.Tracks {
		variants = variants || l.Tracks[i].Variant != ""
		deliveries = deliveries || l.Tracks[i].Delivery != ""
	}
	switch {
	case variants && deliveries:
		return "track, version"
	case deliveries:
		return "track, delivery"
	}
	return "track, variant"
}

// wholeRow is the row of a render.
func (t *Track) wholeRow() []cell {
	name := "  " + clean(t.Version())
	if t.Version() == "" {
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
