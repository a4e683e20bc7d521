package main

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// print writes the plan for people.
func (p *plan) print(b *strings.Builder) {
	mixes := map[string]bool{}
	for _, t := range p.Tracks {
		mixes[t.Name] = true
	}
	fmt.Fprintf(b, "%s: %s into %s as %s, headroom counted from %v dBFS\n",
		p.Title, many(len(mixes), "track"), p.Folder, p.Encoding, p.CeilingDBFS)
	if p.MatchLoudness {
		b.WriteString("the variants are also written at one loudness\n")
	}
	if p.Removed {
		b.WriteString("what the chain removed is also written\n")
	}
	for _, group := range p.Continuous {
		fmt.Fprintf(b, "rendered as one stream: %s\n", strings.Join(group, ", "))
	}
	p.printChains(b)
	for _, c := range p.Coders {
		c.print(b)
	}
	tracks := slices.Clone(p.Tracks)
	ledger.SortByOrder(tracks, p.order, func(t plannedTrack) string { return t.Name })
	for i, t := range tracks {
		if i == 0 || t.Name != tracks[i-1].Name {
			fmt.Fprintf(b, "\n%s\n  from  %s: %s\n", t.Name, t.Source.File, t.Source.form())
		}
		form := ""
		if t.Encoding != "" {
			form = fmt.Sprintf(" as %s", t.Encoding)
		}
		fmt.Fprintf(b, "  to    %s%s: %s\n", t.Output, form, t.standing())
	}
	if len(p.Papers) > 0 {
		b.WriteString("\nwith the deliveries\n")
	}
	for _, x := range p.Papers {
		standing := "up to date"
		switch {
		case x.Err != nil:
			standing = "FAILS: " + x.Err.Error()
		case x.Stale:
			standing = "stale: " + x.Why
		}
		fmt.Fprintf(b, "  to    %s/%s: %s\n", p.Folder, x.File, standing)
	}
	if len(p.Notes) > 0 {
		b.WriteByte('\n')
	}
	for _, n := range p.Notes {
		fmt.Fprintf(b, "note: %s\n", n)
	}
}

func (t plannedTrack) standing() string {
	if t.Blocked || t.Source.Error != "" {
		return "FAILS: " + t.Why
	}
	if !t.Stale {
		return "up to date"
	}
	return "stale: " + t.Why
}

func (m plannedMix) form() string {
	if m.Error != "" {
		return "cannot be read"
	}
	return fmt.Sprintf("%s, %d Hz, %s, %s", m.Encoding, m.RateHz, many(m.Channels, "channel"),
		many(int(m.Frames), "frame"))
}

// sameChain is a chain and the names of those that share it.
type sameChain struct {
	chain   []stages.Use
	version string // of the first of them
	names   []string
}

// printChains prints each different chain once, the release's own before the variants'.
func (p *plan) printChains(b *strings.Builder) {
	var all []*sameChain
	for _, t := range p.Tracks {
		var c *sameChain
		for _, known := range all {
			if reflect.DeepEqual(known.chain, t.Chain) {
				c = known
			}
		}
		if c == nil {
			c = &sameChain{chain: t.Chain, version: t.version}
			all = append(all, c)
		}
		c.names = append(c.names, t.label)
	}
	slices.SortStableFunc(all, func(a, b *sameChain) int { return strings.Compare(a.version, b.version) })
	for _, c := range all {
		b.WriteString("\nchain")
		if len(all) > 1 {
			b.WriteString(" of " + shortList(c.names))
		}
		b.WriteByte('\n')
		c.print(b)
	}
}

// shortList names the first few.
func shortList(names []string) string {
	const few = 4
	if len(names) > few {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:few], ", "), len(names)-few)
	}
	return strings.Join(names, ", ")
}

func (c *sameChain) print(b *strings.Builder) {
	if len(c.chain) == 0 {
		b.WriteString("  (no stage)\n")
	}
	table := ledger.Table{
		Columns: []ledger.Column{{Left: true}, {Gap: 2, Left: true}, {Gap: 2, Left: true}, {Gap: 2, Left: true}},
	}
	for k, s := range c.chain {
		table.Rows = append(table.Rows, []string{strconv.Itoa(k + 1), s.Name, s.Kind, settings(s)})
	}
	_ = ledger.Printer{Out: b}.Table(2, table) // a builder takes everything
}

// settings are a stage's settings, in the order in which its kind lists them.
func settings(s stages.Use) string {
	kind, _ := stages.KindNamed(s.Kind)
	var parts []string
	for _, key := range kind.Keys {
		if v, ok := s.Settings[key.Name]; ok {
			parts = append(parts, fmt.Sprintf("%s%s%v", key.Name, glue, v))
		}
	}
	return strings.Join(parts, ", ")
}
