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
	case WhatTag:
		return "tag " + clean(c.Key) + ": " + step
	case WhatAudibility:
		return c.audibility()
	case WhatRecipe:
		return c.recipe()
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

// audibility tells what is measured of it.
func (c Change) audibility() string {
	what := "audibility: "
	if c.Key == "aliasing" {
		what = "audibility of aliasing: "
	}
	if c.New == true {
		return what + "now measured"
	}
	return what + "no longer measured"
}

// recipe tells which renders are of another version of rendering, and what that means for who compares them.
func (c Change) recipe() string {
	version := "another version of Ledgerline's rendering"
	if c.Key != "" {
		version += " or with another " + clean(c.Key)
	}
	return fmt.Sprintf("rendering: %s made again by %s; where figures or bytes differ, that is why, as no "+
		"setting and no mix was changed", c.renders(), version)
}

// renders says which renders a change is of: all, some by their names, or how many.
func (c Change) renders() string {
	switch n := len(c.Tracks); {
	case c.Every && n > 1:
		return fmt.Sprintf("all %d renders were", n)
	case n == 1:
		return c.Tracks[0].String() + " was"
	case n <= namesTold:
		return refs(c.Tracks) + " were"
	default:
		return fmt.Sprintf("%d renders were", n)
	}
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
	if len(c.Tracks) == 0 || c.What == WhatRecipe {
		return "" // the change itself says it
	}
	if c.Every {
		return " (every track)"
	}
	return " (" + refs(c.Tracks) + ")"
}

// refs lists tracks, the first ones by name.
func refs(tracks []TrackRef) string {
	var names []string
	for i, ref := range tracks {
		if i == namesTold {
			names = append(names, fmt.Sprintf("and %d more", len(tracks)-i))
			break
		}
		names = append(names, ref.String())
	}
	return strings.Join(names, "; ")
}
