package release

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"reflect"
	"slices"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// meaning is all that a release file says, and nothing of how it says it:
// comments, layout, the order of its keys and of its tables, and what it
// repeats of the defaults are not in it. Neither are the mixes that it finds,
// which have hashes of their own, nor the place where it is.
type meaning struct {
	Title       string        `json:"title"`
	CeilingDBFS float64       `json:"ceiling_dbfs"`
	Output      outputMeaning `json:"output"`
	Audibility  Audibility    `json:"audibility"`
	Sources     []string      `json:"sources"`
	Continuous  any           `json:"continuous,omitempty"` // true, or the groups
	Order       []string      `json:"order,omitempty"`
	GapsS       any           `json:"gaps_s,omitempty"` // a number, or a list
	// by track; those of the release under the empty name
	Tags   map[string]audiofile.Tags `json:"tags,omitempty"`
	Chunks string                    `json:"chunks,omitempty"` // "keep", or none
	// the release's own, then the variants by name
	Chains     []chainMeaning    `json:"chains"`
	Deliveries []deliveryMeaning `json:"deliveries,omitempty"` // by name
}

type outputMeaning struct {
	Folder        string `json:"folder"`
	Encoding      string `json:"encoding"`
	MatchLoudness bool   `json:"match_loudness"`
	Removed       bool   `json:"removed"`
}

type chainMeaning struct {
	Variant string                  `json:"variant"`
	Stages  []stages.Use            `json:"stages"`
	Tracks  map[string][]stages.Use `json:"tracks"` // those that the file gives another chain
}

// hash is the SHA-256 of what the release file means, in hex.
func (d *draft) hash(all []chains) string {
	m := meaning{
		Title:       d.title,
		CeilingDBFS: d.ceiling,
		Output: outputMeaning{
			d.output.FolderAsWritten, string(d.output.Encoding), d.output.MatchLoudness, d.output.Removed,
		},
		Audibility: d.audibility,
		Sources:    []string{},
		Continuous: d.continuous.meaning(),
		Order:      d.order.meaning(),
		GapsS:      d.order.gaps.meaning(),
		Tags:       d.meaningOfTags(),
	}
	if d.keepChunks {
		m.Chunks = "keep"
	}
	for _, p := range d.sources {
		m.Sources = append(m.Sources, p.text)
	}
	slices.Sort(m.Sources)
	m.Sources = slices.Compact(m.Sources)
	for _, ch := range all {
		m.Chains = append(m.Chains, ch.meaning())
	}
	for _, x := range d.deliveries {
		m.Deliveries = append(m.Deliveries, x.meaning(d))
	}
	text, err := json.Marshal(m)
	if err != nil {
		panic("internal error: settings that JSON cannot hold: " + err.Error())
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

func (ch chains) meaning() chainMeaning {
	m := chainMeaning{Variant: ch.name(), Stages: plainChain(ch.own), Tracks: map[string][]stages.Use{}}
	for track, chain := range ch.tracks {
		if !reflect.DeepEqual(chain, ch.own) {
			m.Tracks[track] = plainChain(chain)
		}
	}
	return m
}
