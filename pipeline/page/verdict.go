package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"ledgerline/pipeline/ledger"
)

// verdict is what is said first.
type verdict struct {
	Text    string // of the release's own chain
	Failed  bool
	Rest    string // of variants
	RestBad bool
	Fails   []string // what failed, the widest miss first
	Notes   []string // what did not fail and is to be known
}

// A miss is a requirement that failed in some tracks of a chain.
type miss struct {
	chain, key    string
	failed, tried int
	worst         ledger.Requirement
	track         string
}

func (m miss) by() float64 { return math.Abs(value(m.worst.Found) - m.worst.Wanted) }

func (m miss) String() string {
	word := "at most"
	if strings.Contains(m.key, "_min_") {
		word = "at least"
	}
	what, unit := ledger.RequirementWords(m.key)
	d := apart(value(m.worst.Found), m.worst.Wanted)
	if unit == "" {
		d = 0
	}
	return fmt.Sprintf("%s, %s: %d of %s. Worst is %s with %s; wanted %s %s.", m.chain, what, m.failed,
		many(m.tried, "track"),
		m.track, strings.TrimSpace(figure(m.worst.Found, d)+" "+unit), word, fixed(m.worst.Wanted, d))
}

func (s *sheet) verdict() verdict {
	// of the first column of each track and what is delivered of it, and of the others
	var all [2]struct{ tried, failed int }
	what := "masters"
	var misses []*miss
	for _, t := range s.tracks {
		for i, r := range t.present() {
			if r.Delivery != "" && r.Variant == "" {
				what = "masters and deliveries"
			}
			for _, q := range r.Required() {
				n := &all[1]
				if i == 0 || r.Delivery != "" && r.Variant == "" {
					n = &all[0]
				}
				n.tried++
				if !q.Passed {
					n.failed++
				}
				misses = meet(misses, r, q)
			}
		}
	}
	v := verdict{Failed: all[0].failed > 0, RestBad: all[1].failed > 0}
	switch {
	case all[0].tried == 0:
		v.Text = "Nothing was required of the masters."
	case v.Failed:
		v.Text = fmt.Sprintf("✗ The %s FAIL %d of %s.", what, all[0].failed, many(all[0].tried, "requirement"))
	default:
		v.Text = fmt.Sprintf("✓ The %s meet %s.", what, allOf(all[0].tried))
	}
	switch {
	case v.RestBad:
		v.Rest = fmt.Sprintf("✗ The other chains FAIL %d of %d.", all[1].failed, all[1].tried)
	case all[1].tried > 0:
		v.Rest = fmt.Sprintf("✓ The other chains meet %s.", allOf(all[1].tried))
	}
	misses = slices.DeleteFunc(misses, func(m *miss) bool { return m.failed == 0 })
	slices.SortStableFunc(misses, func(a, b *miss) int { return cmp.Compare(b.by(), a.by()) })
	for _, m := range misses {
		v.Fails = append(v.Fails, m.String())
	}
	v.Notes = s.notes()
	return v
}

func allOf(n int) string {
	if n == 1 {
		return "the one requirement"
	}
	return fmt.Sprintf("all %d requirements", n)
}

// meet counts a requirement under its chain and key.
func meet(misses []*miss, r *render, q ledger.Requirement) []*miss {
	chain := r.chain
	if q.OfCoder() {
		chain += " " + q.Stage
	}
	at := slices.IndexFunc(misses, func(m *miss) bool { return m.chain == chain && m.key == q.Key })
	if at < 0 {
		at = len(misses)
		misses = append(misses, &miss{chain: chain, key: q.Key})
	}
	m := misses[at]
	m.tried++
	if !q.Passed {
		one := miss{worst: q}
		if m.failed++; m.failed == 1 || one.by() > m.by() {
			m.worst, m.track = q, r.Name
		}
	}
	return misses
}

// The figures from which on a note asks to listen; they are ours and no standard's, as in the README.
const (
	noteDisturbedPercent = 5
	noteNoiseToMaskDB    = -10
)

// notes are what nobody asked to be judged by, and an engineer should know.
func (s *sheet) notes() []string {
	var notes []string
	s.each(func(r *render) {
		if r.old {
			return
		}
		if a := r.audibility(); value(a.NoiseToMaskDB) >= noteNoiseToMaskDB ||
			a.DisturbedPercent >= noteDisturbedPercent {
			notes = append(notes, fmt.Sprintf("%s: noise to mask %s dB, %s %% disturbed. Listen to its worst moments.",
				r.label(), figure(a.NoiseToMaskDB, 1), fixed(a.DisturbedPercent, 1)))
		}
		if n := r.Output.LimitedSamples; n > 0 {
			notes = append(notes, fmt.Sprintf("%s: %s limited to full scale on writing.", r.label(),
				many(n, "sample")))
		}
		if n := r.first().NonFiniteSamples; n > 0 {
			notes = append(notes, fmt.Sprintf("%s: %s of the mix NaN or infinite, rendered as zeros.", r.label(),
				many(n, "sample")))
		}
	})
	return notes
}

// unmet are the requirements that a render failed, in words.
func (r *render) unmet() string {
	var texts []string
	for _, q := range r.Required() {
		if !q.Passed {
			what, unit := ledger.RequirementWords(q.Key)
			d := apart(value(q.Found), q.Wanted)
			if unit == "" {
				d = 0
			}
			texts = append(texts, fmt.Sprintf("%s %s, wanted %s", what, figure(q.Found, d), fixed(q.Wanted, d)))
		}
	}
	return strings.Join(texts, "; ")
}

// judged is whether a render met what was required, in a few words.
func (r *render) judged() (text string, bad bool) {
	var failed []string
	for _, q := range r.Required() {
		if !q.Passed {
			what, _ := ledger.RequirementWords(q.Key)
			failed = append(failed, what)
		}
	}
	switch {
	case len(failed) > 0:
		return "✗ " + strings.Join(failed, ", "), true
	case len(r.Required()) == 0:
		return "none", false
	}
	return fmt.Sprintf("✓ %d met", len(r.Required())), false
}
