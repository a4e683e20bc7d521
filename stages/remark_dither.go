package stages

import "math"

// unheldDither is that a dither chain[i] will have to clip, or may, and that a stage after it
// undoes its rounding.
func unheldDither(chain []Use, i int) (all []Remark) {
	s := chain[i]
	ceiling, capped := s.Settings.CeilingDBFS()
	switch u := unkeptBy(chain, i); {
	case u.kept:
	case u.clip >= 0:
		all = append(all,
			remark(i, "stage %q would clip what passes the ceiling of %q on the way back from clipping, and a "+
				"dither is no clipper; put a ceiling_hold between them", s.Name, chain[u.clip].Name))
	case capped:
		all = append(all, remark(i, "stage %q: nothing before it keeps its ceiling of %v dBFS, so it may have to "+
			"clip, and a dither is no clipper; put a ceiling_hold before it", s.Name, ceiling))
	case u.lifted > 0:
		all = append(all, remark(i, "stage %q: the gain before it may take peaks over full scale, so it may have "+
			"to clip, and a dither is no clipper; put a ceiling_hold before it", s.Name))
	}
	for k := i + 1; k < len(chain); k++ {
		if !chain[k].keepsWords() {
			return append(all,
				remark(k, "stage %q is after the dither %q and undoes its rounding; dither is usually last",
					chain[k].Name, s.Name))
		}
	}
	return all
}

// unkept says why a dither may have to clip.
type unkept struct {
	kept   bool    // it need not: something keeps its ceiling, or full scale
	clip   int     // the clip whose ceiling would do, and which may pass it; -1: there is none
	lifted float64 // what the stages before it turn up, dB
}

// unkeptBy looks for what keeps the ceiling of a dither chain[i], or full scale where it has
// none, on the way back to the source.
func unkeptBy(chain []Use, i int) unkept {
	ceiling, _ := chain[i].Settings.CeilingDBFS()
	// The ceiling in the terms of the stage before it: what is turned up by 2 dB in between has to
	// keep one 2 dB lower.
	wanted, u := ceiling, unkept{clip: -1}
	for k := i - 1; k >= 0; k-- {
		before := chain[k]
		factor, _ := before.Factor()
		wanted, u.lifted = wanted-factor.DB, u.lifted+factor.DB
		own, holds := before.Settings.CeilingDBFS()
		switch {
		case before.ChangesRate():
			return u // peaks may rise there
		case !holds:
			continue
		case before.Of().MayPass && math.Abs(own-wanted) < hair:
			u.clip = k
			return u
		case own <= wanted+hair:
			u.kept = true
			return u
		}
	}
	return u
}

// MayClip says whether one of the stages from a given one on, counted from 0, is a dither that may have to
// clip.
func MayClip(chain []Use, from int) bool {
	for k := from; k < len(chain); k++ {
		if _, rounds := chain[k].Rounding(); rounds && !unkeptBy(chain, k).kept {
			return true
		}
	}
	return false
}

// hair is what sums of gains may differ by though they are the same, dB.
const hair = 1e-9
