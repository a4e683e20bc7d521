package ledger

import "math"

// movesAt are the figures that moved at one boundary, by key.
type movesAt map[string]*Move

// moves are the figures of a track that moved, in the order of the new chain.
// Stages that only one chain has are left out.
func (p pair) moves(toleranceDB float64) []Move {
	var all []Move
	var before movesAt
	for k, b := range p.new.Boundaries {
		old := p.oldBoundary(k)
		if old < 0 {
			continue
		}
		here := movesAt{}
		for _, f := range compared {
			m, moved := f.move(f.of(p.old.Boundaries[old], p.old.result(old)), f.of(b, p.new.result(k)), toleranceDB)
			if moved {
				m.Track, m.Variant, m.Delivery, m.Stage = p.ref.Track, p.ref.Variant, p.ref.Delivery, b.Stage
				here[f.key] = &m
			}
		}
		p.judge(here, k)
		for _, f := range compared {
			if m := here[f.key]; m != nil {
				m.Follows = f.follows(m, here, before, p.changed(k), toleranceDB)
				all = append(all, *m)
			}
		}
		before = here
	}
	return append(all, p.ends(toleranceDB)...)
}

// changed reports whether the kind or a setting of the stage before boundary k changed.
func (p pair) changed(k int) bool {
	if k == 0 || k > len(p.new.Chain) {
		return false
	}
	now := p.new.Chain[k-1]
	for _, s := range p.old.Chain {
		if p.names[s.Name] == now.Name {
			return s.Kind != now.Kind || !sameSettings(s.Settings, now.Settings)
		}
	}
	return true
}

// judge marks the moves at boundary k that are losses. Headroom that a gain uses
// up, and less of it bought by clipping less, are choices.
func (p pair) judge(here movesAt, k int) {
	for key, m := range here {
		switch key {
		case "net_db", "true_net_db":
			m.Worse = m.By != nil && *m.By < 0 && sign(m.New) < 0
		case "overs":
			m.Worse = m.By != nil && *m.By > 0 && k == p.new.lastCeiling()
		case "nonfinite_samples":
			m.Worse = *m.By > 0
		}
	}
}

// ends are the moves of what a track came to: requirements and the output.
func (p pair) ends(toleranceDB float64) []Move {
	all := p.requirementMoves()
	end := func(f kept, old, new *float64) {
		if m, moved := f.move(old, new, toleranceDB); moved {
			m.Track, m.Variant, m.Delivery, m.Stage = p.ref.Track, p.ref.Variant, p.ref.Delivery, "output"
			m.Worse = f.key == limited.key && *m.By > 0
			all = append(all, m)
		}
	}
	end(limited, counted(p.old.Output.LimitedSamples), counted(p.new.Output.LimitedSamples))
	gains := func(f kept, old, new *Extra) {
		if old != nil && new != nil { // a file more or less is a change, not a move
			end(f, &old.GainDB, &new.GainDB)
		}
	}
	gains(matchedGain, p.old.Matched, p.new.Matched)
	gains(removedGain, p.old.Removed, p.new.Removed)
	return all
}

// oldBoundary is the old boundary that corresponds to boundary k of the new chain, -1 if
// there is none.
func (p pair) oldBoundary(k int) int {
	if k == 0 {
		return min(0, len(p.old.Boundaries)-1)
	}
	for i, s := range p.old.Chain {
		if i+1 < len(p.old.Boundaries) && k <= len(p.new.Chain) && p.names[s.Name] == p.new.Chain[k-1].Name {
			return i + 1
		}
	}
	return -1
}

// result is what the stage before boundary k did; nothing at boundary 0.
func (t *Track) result(k int) StageResult {
	if k == 0 || k > len(t.Stages) {
		return StageResult{}
	}
	return t.Stages[k-1]
}

// follows reports whether a move says nothing new beside the others here and at the
// boundary before. An unchanged stage's move is not news unless it is larger than the move
// at its input; what it costs is in the net, which never follows.
func (f kept) follows(m *Move, here, before movesAt, changed bool, toleranceDB float64) bool {
	switch f.role {
	case local:
		return false
	case twin:
		return m.alike(here["net_db"], 1, toleranceDB)
	case mirror:
		if f.key == "true_headroom_db" {
			return m.alike(here["true_peak_dbtp"], -1, toleranceDB) || m.alike(here["headroom_db"], 1, toleranceDB)
		}
		return m.alike(here["headroom_db"], -1, toleranceDB)
	case change:
		return m.alike(here["headroom_db"], 1, toleranceDB) ||
			!changed && m.damped(before["headroom_db"], -1, toleranceDB)
	}
	switch {
	case m.alike(before[f.key], 1, toleranceDB), !changed && m.damped(before[f.key], 1, toleranceDB):
		return true
	case f.role == minor:
		return m.under(here, toleranceDB) || !changed && m.under(before, toleranceDB)
	}
	// A gain moves all three levels alike; one of them is enough.
	return f.level != "dB" && (f.unit == unitDB || f.unit == unitLU) &&
		m.alike(here["headroom_db"], -1, toleranceDB)
}

// damped reports whether a level moved in the direction of another times the sign, and no
// further.
func (m *Move) damped(other *Move, sign, toleranceDB float64) bool {
	if other == nil || m.By == nil || other.By == nil || m.Unit == unitSamples || m.Unit == unitScale {
		return false
	}
	by, most := *m.By, sign**other.By
	return by*most > 0 && math.Abs(by) <= math.Abs(most)+toleranceDB
}

// alike reports whether m moved as other did, times the sign, within the tolerance.
func (m *Move) alike(other *Move, sign, toleranceDB float64) bool {
	if other == nil {
		return false
	}
	if m.By == nil || other.By == nil {
		return m.Word == other.Word
	}
	if m.Unit == unitSamples || m.Unit == unitScale {
		return *m.By == *other.By
	}
	return math.Abs(*m.By-float64(sign**other.By)) <= toleranceDB
}

// under reports whether a leading level here moved at least as far as m.
func (m *Move) under(here movesAt, toleranceDB float64) bool {
	for _, key := range []string{"headroom_db", "true_peak_dbtp", "loudness_lufs"} {
		if lead := here[key]; lead != nil && m.weight <= lead.weight+toleranceDB {
			return true
		}
	}
	return false
}

// requirementMoves are the requirements that fail now and did not, and those
// that are met now and were not.
func (p pair) requirementMoves() []Move {
	type id struct{ stage, key string }
	before := map[id]Requirement{}
	for _, r := range p.old.Required() {
		if name, ok := p.names[r.Stage]; ok {
			before[id{name, r.Key}] = r
		} else if r.OfCoder() {
			before[id{r.Stage, r.Key}] = r
		}
	}
	var all []Move
	for _, r := range p.new.Required() {
		old, had := before[id{r.Stage, r.Key}]
		m := Move{
			Track: p.ref.Track, Variant: p.ref.Variant, Delivery: p.ref.Delivery, Stage: r.Stage, Figure: r.Key,
			Old: old.Found, New: r.Found, weight: always, Word: "now met", Worse: !r.Passed,
		}
		if old.Found != nil && r.Found != nil {
			by := round(*r.Found-*old.Found, levelSteps)
			m.By = &by
		}
		if !r.Passed {
			m.Word = "now fails"
		}
		if had && old.Passed != r.Passed || !had && !r.Passed {
			all = append(all, m)
		}
	}
	return all
}
