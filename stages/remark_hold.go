package stages

import (
	"fmt"
	"math"
)

// afterHold is what may pass the ceiling again after the hold chain[i].
func afterHold(chain []Use, i int) (all []Remark) {
	hold := chain[i]
	ceiling, _ := hold.Settings.CeilingDBFS()
	for k := i + 1; k < len(chain); k++ {
		s, kind := chain[k], chain[k].Of()
		factor, _ := s.Factor()
		rounding, rounds := s.Rounding()
		own, capped := s.Settings.CeilingDBFS()
		switch {
		case kind.Promises != nil:
			return all // this one has the last word
		case s.ChangesRate():
			return all // which is told of the change of rate, if nothing holds after it
		case kind.Cuts:
			all = append(all, remark(i, "stage %q holds the ceiling before the clip %q; a hold is usually after it",
				hold.Name, s.Name))
		case factor.DB > 0:
			all = append(all, remark(k, "stage %q lifts what %q holds; samples may pass its ceiling", s.Name,
				hold.Name))
		case rounds && rounding.Bits <= 16 && (!capped || own > ceiling):
			all = append(all,
				remark(k, "stage %q may pass the ceiling of %q by up to %s; ceiling_dbfs = %v in it would hold it",
					s.Name, hold.Name, codesText(rounding.Codes), ceiling))
		}
	}
	return all
}

// codesText is how far a dither may move a sample, in codes.
func codesText(codes float64) string {
	switch codes {
	case 0.5:
		return "half a code"
	case 1:
		return "a code"
	case 1.5:
		return "one and a half codes"
	}
	return fmt.Sprintf("%.0f codes", math.Ceil(codes))
}

// readAfterHold is that the meters of the hold chain[i] are not held to its ceiling, as they read the end
// of the chain and a stage before that may raise peaks.
func readAfterHold(chain []Use, i int) []Remark {
	hold := chain[i]
	by := hold.Settings.ReadBy()
	if !by.Has(ReadBS1770) && !by.Has(ReadSinc49) {
		return nil
	}
	for k := i + 1; k < len(chain); k++ {
		if chain[k].RaisesPeaks() {
			return []Remark{
				remark(i, "stage %q: read_by is not in force, as stage %q after it may raise peaks", hold.Name,
					chain[k].Name),
			}
		}
	}
	return nil
}
