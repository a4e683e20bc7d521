package fresh

import (
	"fmt"
	"slices"
	"strings"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// changeOfRecipe says what a render of this encoding and chain has that its entry has not.
func changeOfRecipe(encoding string, chain []stages.Use, entry *ledger.Track) string {
	var changes []string
	if was := entry.Output.Encoding; was != encoding {
		changes = append(changes, fmt.Sprintf("encoding %s -> %s", was, encoding))
	}
	changes = append(changes, changeOfChain(entry.Chain, chain)...)
	if len(changes) == 0 {
		return "the release's ceiling or the version of rendering changed"
	}
	return strings.Join(changes, ", ")
}

// changeOfChain lists the settings that differ, or says that the stages do.
func changeOfChain(was, is []stages.Use) []string {
	same := func(a, b stages.Use) bool { return a.Name == b.Name && a.Kind == b.Kind }
	if !slices.EqualFunc(was, is, same) {
		return []string{fmt.Sprintf("stages %s -> %s", stageList(was), stageList(is))}
	}
	var changes []string
	for i := range is {
		for _, c := range ledger.SettingChanges(was[i].Settings, is[i].Settings) {
			changes = append(changes, fmt.Sprintf("%s.%s %s -> %s", is[i].Name, c.Key, settingText(c.Old), settingText(c.New)))
		}
	}
	return changes
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
