package fresh

import (
	"fmt"
	"slices"
	"strings"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// changeOfRecipe says what a render of this release and chain has that its entry has not. All that a recipe
// is made of is on record, or nearly: where nothing of that changed, the version of rendering did.
func (c *Rules) changeOfRecipe(render *release.Render, entry *ledger.Track) string {
	var changes []string
	if was, is := entry.Output.Encoding, string(render.Encoding); was != is {
		changes = append(changes, changeOf("encoding", was, is))
	}
	changes = append(changes, changeOfChain(entry.Declared(), render.Chain)...)
	changes = append(changes, changeOfTags(render, entry)...)
	if was, is := entry.Output.DiscFrames, render.DiscFrames != ""; was != is {
		changes = append(changes, changeOf("disc_frames", was, is))
	}
	changes = append(changes, changeOfAudibility(c.Release.Audibility, entry)...)
	if was, is := c.ceilingOf(entry), c.Release.CeilingDBFS; was != is {
		changes = append(changes, changeOf("the release's ceiling_dbfs", was, is))
	}
	if len(changes) == 0 {
		changes = c.changeBeside(render)
	}
	if len(changes) == 0 {
		changes = c.changeUnseen(render, entry)
	}
	return strings.Join(changes, ", ")
}

func changeOf(what string, was, is any) string { return fmt.Sprintf("%s %v -> %v", what, was, is) }

// changeOfTags lists the tags that differ, and whether the mix's chunks are carried over.
func changeOfTags(render *release.Render, entry *ledger.Track) (changes []string) {
	for _, c := range ledger.TagChanges(entry.Tags, ledger.TagsOf(render.Tags)) {
		changes = append(changes, fmt.Sprintf("tag %s %s -> %s", c.Key, tagText(c.Old), tagText(c.New)))
	}
	if was := entry.Chunks == "keep"; was != render.KeepChunks {
		changes = append(changes, fmt.Sprintf("chunks %s -> %s", chunksText(was), chunksText(render.KeepChunks)))
	}
	return changes
}

func tagText(text string) string {
	if text == "" {
		return "none"
	}
	return fmt.Sprintf("%q", text)
}

func chunksText(kept bool) string {
	if kept {
		return "keep"
	}
	return "drop"
}

// changeOfAudibility lists what of [audibility] differs, as far as an entry tells: one without figures may be
// of silence.
func changeOfAudibility(is release.Audibility, entry *ledger.Track) (changes []string) {
	if !heard(entry) {
		return nil
	}
	if !is.Measure {
		return []string{"[audibility] measure true -> false"}
	}
	if was := entry.Whole.Audibility.LevelDBSPL; was != is.LevelDBSPL {
		changes = append(changes, fmt.Sprintf("[audibility] level_db_spl %v -> %v", was, is.LevelDBSPL))
	}
	clips, aliasing := false, false
	for k, use := range entry.Chain {
		clips = clips || use.Of().Clean != nil
		a := entry.Stages[k].Audibility
		aliasing = aliasing || a != nil && a.AliasingDisturbedPercent != nil
	}
	if clips && aliasing != is.Aliasing {
		changes = append(changes, fmt.Sprintf("[audibility] aliasing %v -> %v", aliasing, is.Aliasing))
	}
	return changes
}

func heard(entry *ledger.Track) bool { return entry.Whole != nil && entry.Whole.Audibility != nil }

// changeOfChain lists the settings that differ, or says that the stages do.
func changeOfChain(was, is []stages.Use) []string {
	if !sameStages(was, is) {
		return []string{fmt.Sprintf("stages %s -> %s", stageList(was), stageList(is))}
	}
	var changes []string
	for i := range is {
		for _, c := range ledger.SettingChanges(was[i].Settings, is[i].Settings) {
			changes = append(changes, fmt.Sprintf("%s.%s %s -> %s", is[i].Name, c.Key, settingText(c.Old),
				settingText(c.New)))
		}
	}
	return changes
}

func sameStages(a, b []stages.Use) bool {
	return slices.EqualFunc(a, b, func(a, b stages.Use) bool { return a.Name == b.Name && a.Kind == b.Kind })
}

// tracksOf are the tracks that an entry's runs into, itself among them.
func tracksOf(entry *ledger.Track) (names []string) {
	for _, j := range entry.Continuous {
		names = append(names, j.Track)
	}
	return names
}

// changeOfGroup says which tracks run into each other now and did before.
func changeOfGroup(was, is []string) string {
	text := func(names []string) string {
		if len(names) == 0 {
			return "none"
		}
		return "[" + strings.Join(names, ", ") + "]"
	}
	return fmt.Sprintf("continuous %s -> %s", text(was), text(is))
}

func stageList(chain []stages.Use) string {
	names := make([]string, len(chain))
	for i, s := range chain {
		names[i] = s.Name
		if s.Name != s.Kind {
			names[i] += " (" + s.Kind + ")"
		}
	}
	return "[" + strings.Join(names, ", ") + "]"
}

func settingText(v any) string {
	if v == nil {
		return "none"
	}
	return fmt.Sprint(v)
}
