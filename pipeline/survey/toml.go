package survey

import (
	"strings"

	"ledgerline/pipeline/release"
)

// Changes are the answers of the release's own chain as settings of the tracks. There is none for a track without an answer.
func (s *Survey) Changes() (changes []release.TrackSetting) {
	if s.Interrupted {
		return nil
	}
	for _, t := range s.Tracks {
		if t.Variant == "" && t.Answer != nil {
			changes = append(changes, release.TrackSetting{Track: t.Name, Stage: s.stage, Key: s.key, Value: *t.Answer})
		}
	}
	return changes
}

// TOML are the tables of a release file that have the answers.
func (s *Survey) TOML() string {
	var b strings.Builder
	for i, c := range s.Changes() {
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString(c.Table("\n"))
	}
	return b.String()
}
