package release

import "math"

// unheldDither notes a dither chain[i] that will have to clip, or may: one whose
// ceiling, or full scale where it has none, nothing before it keeps. A dither is no
// clipper.
func unheldDither(chain []stageUse, i int, add func(int, string, ...any)) {
	s := chain[i]
	ceiling, capped := s.Settings.CeilingDBFS()
	// The ceiling in the terms of the stage before it, on the way back to the
	// source: what is turned up by 2 dB in between has to keep one 2 dB lower.
	wanted, lifted := ceiling, 0.0
	for k := i - 1; k >= 0; k-- {
		before := chain[k]
		if db, ok := before.Settings["gain_db"].(float64); ok {
			wanted, lifted = wanted-db, lifted+db
		}
		own, holds := before.Settings.CeilingDBFS()
		switch {
		case !holds:
			continue
		case before.Kind == "oversampled_clip" && math.Abs(own-wanted) < hair:
			add(s.line, "stage %q would clip what passes the ceiling of %q on the way back from clipping, and a dither is no clipper; put a ceiling_hold between them", s.Name, before.Name)
			return
		case own <= wanted+hair:
			return
		}
	}
	switch {
	case capped:
		add(s.line, "stage %q: nothing before it keeps its ceiling of %v dBFS, so it may have to clip, and a dither is no clipper; put a ceiling_hold before it", s.Name, ceiling)
	case lifted > 0:
		add(s.line, "stage %q: nothing keeps what is turned up within full scale, so it may have to clip, and a dither is no clipper; put a ceiling_hold before it", s.Name)
	}
}

// hair is what sums of gains may differ by though they are the same, dB.
const hair = 1e-9
