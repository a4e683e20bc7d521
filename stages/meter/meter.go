package meter

import "ledgerline/stages"

// Options say what a meter is to know of the signal.
type Options struct {
	Rate    int       // frames a second, 8000 to 384000
	Weights []float64 // one a channel, as Weights gives them; their number is the number of channels
	Ceiling float64   // linear magnitude that samples shall not pass; 0 = count no overs
}

// Meter reads a signal. It is not safe for use by several goroutines at once.
type Meter struct{}

// New returns a meter that has heard nothing. It panics if the rate is out of
// range, if there is no channel, or if a weight or the ceiling is negative or
// not finite.
func New(o Options) *Meter { return &Meter{} }

// Write feeds b, any number of frames, to the meter, which keeps nothing of
// it. It panics if b has another number of channels than the meter.
func (m *Meter) Write(b stages.Block) {}

// Reading is what the meter has found so far, as if the signal ended here. It
// does not disturb the meter.
func (m *Meter) Reading() Reading { return Reading{} }
