package release

import "fmt"

// Unfit is what keeps a render from being made of a mix of that rate in Hz: a stage in it that does not work
// there, or whole frames of a disc at another rate. It names the line; nil: nothing does.
func (r *Release) Unfit(x *Render, rateHz int) error {
	for _, use := range x.Chain {
		kind := use.Of()
		if kind.Rate != nil {
			rateHz = kind.Rate(use.Settings)
		}
		if most := kind.MostRateHz; most > 0 && (rateHz < kind.LeastRateHz || rateHz > most) {
			return fmt.Errorf("%s:%d: stage %q: %s works from %d to %d Hz, and %s has %d Hz there; want another "+
				"rate, or a stage of another kind",
				r.Path, r.Lines[use.Name], use.Name, use.Kind, kind.LeastRateHz, most, x.SourceAsWritten, rateHz)
		}
	}
	if x.DiscFrames != "" && rateHz != discRateHz {
		return fmt.Errorf("%s: delivery %q: disc_frames = true is for %d Hz, and %s has %d Hz there; want a "+
			"stage of kind resample with rate_hz = %d in the delivery, or no disc_frames",
			x.DiscFrames, x.Delivery, discRateHz, x.SourceAsWritten, rateHz, discRateHz)
	}
	return nil
}
