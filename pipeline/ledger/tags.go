package ledger

import (
	"cmp"

	"ledgerline/pipeline/audiofile"
)

// TagsOf are tags as a record has them: nil where there are none.
func TagsOf(t audiofile.Tags) *audiofile.Tags {
	if t == (audiofile.Tags{}) {
		return nil
	}
	return &t
}

// TagChange is a tag that two masters differ in, by its key in the release file. An empty text is none.
type TagChange struct{ Key, Old, New string }

// TagChanges are the tags that differ.
func TagChanges(old, new *audiofile.Tags) (changes []TagChange) {
	var none audiofile.Tags
	a, b := cmp.Or(old, &none).All(), cmp.Or(new, &none).All()
	for i := range a {
		if a[i].Text != b[i].Text {
			changes = append(changes, TagChange{a[i].Key, a[i].Text, b[i].Text})
		}
	}
	return changes
}
