package track

import (
	"fmt"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// ratesOf is the rate at each boundary of a chain, Hz.
func ratesOf(rate int, chain []stages.Use) []int {
	rates := []int{rate}
	for _, use := range chain {
		rate = use.RateAfter(rate)
		rates = append(rates, rate)
	}
	return rates
}

// Works fails with a *FormError if a stage of a chain cannot do what it is to do at the rate that comes to
// it, where the mix has the given one in Hz.
func Works(rate int, chain []stages.Use) error {
	for _, use := range chain {
		if at := use.Of().AtRate; at != nil {
			if err := at(rate, use.Settings); err != nil {
				return &FormError{fmt.Sprintf("stage %q: %v", use.Name, err)}
			}
		}
		rate = use.RateAfter(rate)
	}
	return nil
}

// Fits fails with a *FormError if an output cannot have as many channels as the mix.
func Fits(channels int, c audiofile.Container) error {
	if err := c.Fits(channels); err != nil {
		return &FormError{err.Error()}
	}
	return nil
}

// frameAt is the first frame at boundary k of what comes from a frame of the input on: how many there are
// before it.
func (p *Pass) frameAt(frame int64, k int) int64 {
	for i := range k {
		frame = stages.FramesAt(frame, p.rates[i], p.rates[i+1])
	}
	return frame
}

// framesAt is frameAt of several.
func (p *Pass) framesAt(frames []int64, k int) (at []int64) {
	for _, f := range frames {
		at = append(at, p.frameAt(f, k))
	}
	return at
}
