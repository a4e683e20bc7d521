package ledger

import (
	"maps"
	"reflect"
	"slices"

	"ledgerline/stages"
)

// A SettingChange is a setting that differs between two uses of a stage. Old or New is
// nil where the setting is missing.
type SettingChange struct {
	Key      string
	Old, New any
}

// SettingChanges are the settings that differ, in the order of their keys. 8 and 8.0 are
// one value.
func SettingChanges(old, new stages.Settings) []SettingChange {
	all := stages.Settings{}
	maps.Copy(all, old)
	maps.Copy(all, new)
	var changes []SettingChange
	for _, key := range slices.Sorted(maps.Keys(all)) {
		if !sameSetting(old[key], new[key]) {
			changes = append(changes, SettingChange{key, old[key], new[key]})
		}
	}
	return changes
}

func sameSettings(a, b stages.Settings) bool { return len(SettingChanges(a, b)) == 0 }

// sameSetting reports whether two settings are one value.
func sameSetting(a, b any) bool {
	x, okX := number(a)
	y, okY := number(b)
	if okX && okY {
		return x == y
	}
	return reflect.DeepEqual(a, b)
}
