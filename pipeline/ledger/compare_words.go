package ledger

import (
	"fmt"
	"strings"
)

// String tells the change in one line.
func (c Change) String() string {
	from, to := inWords(c.Old), inWords(c.New)
	step := from + " -> " + to
	stage := "stage " + clean(c.Stage)
	switch c.What {
	case WhatCeiling:
		return "release's ceiling: " + step + " dBFS"
	case WhatRelease:
		return "release file: its meaning changed, but nothing that a ledger records"
	case WhatMix:
		return c.mix()
	case WhatEncoding, WhatFolder, WhatFile:
		return "output " + c.What + ": " + step
	case WhatExtra:
		if c.New == nil {
			return c.Key + " file: no longer written"
		}
		return c.Key + " file: now written, to " + to
	case WhatLevel:
		return "audibility: at a playback level of " + step + " dB SPL"
	case WhatRecipe:
		return "rendering: done differently, although nothing else recorded changed"
	case WhatStageAdded:
		return stage + ": new, a " + to
	case WhatStageRemoved:
		return stage + ": gone, a " + from
	case WhatStageRenamed:
		return stage + ": was named " + from
	case WhatStageMoved:
		return stage + ": moved from place " + step
	case WhatKind:
		return stage + ": kind " + step
	case WhatSetting:
		return stage + ": " + clean(c.Key) + " " + step
	case WhatBytes:
		return "master: different bytes, although nothing recorded changed and nothing moved"
	}
	return clean(c.What) + ": " + step // tool, title, order, gaps_s, disc_frames
}

// mix tells what became of a mix.
func (c Change) mix() string {
	if c.Key != "sha256" {
		return "mix: " + clean(c.Key) + " " + inWords(c.Old) + " -> " + inWords(c.New)
	}
	return "mix: new content, " + hash(c.Old) + " -> " + hash(c.New)
}

// hash is the start of a hash, enough to tell it from others.
func hash(v any) string { return fmt.Sprintf("%.8s", inWords(v)) }

// inWords is a value of a change in words.
func inWords(v any) string {
	switch v := v.(type) {
	case nil:
		return "not set"
	case float64:
		return short(v)
	case string:
		if v == "" {
			return "empty"
		}
		return clean(v)
	}
	return clean(fmt.Sprint(v))
}

// namesTold is how many tracks a change names before it only counts them.
const namesTold = 6

// Line is the change with the tracks in which it was made.
func (c Change) Line() string { return c.String() + c.scope() }

// scope tells in which tracks something was changed; nothing for the release.
func (c Change) scope() string {
	if len(c.Tracks) == 0 {
		return ""
	}
	if c.Every {
		return " (every track)"
	}
	var names []string
	for i, ref := range c.Tracks {
		if i == namesTold {
			names = append(names, fmt.Sprintf("and %d more", len(c.Tracks)-i))
			break
		}
		names = append(names, ref.String())
	}
	return " (" + strings.Join(names, "; ") + ")"
}
