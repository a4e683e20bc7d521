package survey

import (
	"strings"

	"ledgerline/pipeline/release"
)

// Changes are the answers of the release's own chain as settings of the tracks. There is none for a track
// without an answer.
func (s *Survey) Changes() (changes []release.TrackSetting) {
	if s.Interrupted {
		return nil
	}
	for _, t := range s.Tracks {
		if t.Variant == "" && t.Answer != nil {
			changes = append(changes, release.TrackSetting{
				Track: t.Name, Stage: s.stage, Key: s.key, Value: *t.Answer,
			})
		}
	}
	return changes
}

// Unanswered says why there are no Changes.
func (s *Survey) Unanswered() string {
	loud, required := false, s.Target != nil
	for _, t := range s.Tracks {
		for _, r := range t.Rows {
			loud = loud || r.LoudnessLUFS != nil
			required = required || len(r.Requirements) > 0
		}
	}
	switch {
	case !required:
		return "nothing is required: --limit, a measure in the chain or --target says which value will do"
	case s.Target != nil:
		return "no track comes to the target within its requirements"
	case !loud:
		return "what is silent, or shorter than 400 ms, has no loudness to choose a value by"
	}
	return "no value keeps every requirement"
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
