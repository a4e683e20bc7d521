package fresh

import (
	"slices"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

const versionChanged = "the version of rendering changed"

// ceilingOf is the release's ceiling, dBFS, from which an entry's headroom counts down; of silence, which has
// none, that of the ledger. What the ledger rounds away is no difference.
func (c *Rules) ceilingOf(entry *ledger.Track) float64 {
	is := c.Release.CeilingDBFS
	if len(entry.Boundaries) > 0 {
		if b := entry.Boundaries[0]; b.HeadroomDB != nil && b.SamplePeakDBFS != nil {
			was := ledger.Level(*b.HeadroomDB + *b.SamplePeakDBFS)
			if *was == *ledger.Level(is) {
				return is
			}
			return *was
		}
	}
	if c.Past.Ledger == nil {
		return is
	}
	return c.Past.Ledger.CeilingDBFS
}

// changeBeside lists what rounds in the chain that a delivery continues and did not before. That is known
// from the entry of what it continues.
func (c *Rules) changeBeside(render *release.Render) (changes []string) {
	is := besideOf(render)
	if is == nil {
		return nil
	}
	was := c.besideBefore(render)
	if was == nil {
		return nil
	}
	if was.Encoding != is.Encoding {
		changes = append(changes, changeOf("encoding", was.Encoding, is.Encoding))
	}
	changes = append(changes, changeOfChain(was.Chain, is.Chain)...)
	for i := range changes {
		changes[i] += " in the chain that it continues"
	}
	return changes
}

// besideBefore is what rounded beside a delivery according to the entry of what it continues; nil if there is
// none, or its chain began otherwise: then so did that of the delivery, which tells more.
func (c *Rules) besideBefore(render *release.Render) *beside {
	main := render.Main
	entry := c.Past.entries[key{render.Track, render.Variant, ""}]
	if entry == nil || len(entry.Chain) < main.Begins || !sameStages(entry.Chain[:main.Begins],
		main.Chain[:main.Begins]) {
		return nil
	}
	return newBeside(entry.Output.Encoding, entry.Declared()[main.Begins:])
}

// changeUnseen says what changed where an entry shows no change: what of [audibility] it has no figures of,
// or the version of rendering. Where it can only be one of several, it names them.
func (c *Rules) changeUnseen(render *release.Render, entry *ledger.Track) []string {
	if change := c.changeUnheard(render, entry); change != "" {
		return []string{change}
	}
	if !heard(entry) && slices.ContainsFunc(render.Chain, func(u stages.Use) bool { return u.Of().Hears }) {
		return []string{"[audibility] level_db_spl or " + versionChanged}
	}
	if besideOf(render) != nil && !c.besideKnown(render) {
		return []string{"what rounds in the chain that it continues or " + versionChanged}
	}
	return []string{versionChanged}
}

// besideKnown says whether the entry of what a delivery continues is as old as that of the delivery: it was
// not rendered since by what the release file has now.
func (c *Rules) besideKnown(render *release.Render) bool {
	entry := c.Past.entries[key{render.Track, render.Variant, ""}]
	if entry == nil {
		return false
	}
	for i := range c.Release.Renders {
		if r := &c.Release.Renders[i]; c.Past.Entry(r) == entry {
			return c.recipe(r) != entry.Recipe
		}
	}
	return false
}

// changeUnheard finds the [audibility] with which the recipe is that of the entry.
func (c *Rules) changeUnheard(render *release.Render, entry *ledger.Track) string {
	is := c.Release.Audibility
	for _, was := range []release.Audibility{{}, {Measure: true}, {Measure: true, Aliasing: true}} {
		was.LevelDBSPL = is.LevelDBSPL
		before := *c.Release
		before.Audibility = was
		switch {
		case was == is || Recipe(&before, render) != entry.Recipe:
		case was.Measure != is.Measure:
			return changeOf("[audibility] measure", was.Measure, is.Measure)
		default:
			return changeOf("[audibility] aliasing", was.Aliasing, is.Aliasing)
		}
	}
	return ""
}
