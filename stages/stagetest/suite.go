// Package stagetest holds every stage to the contract of stages.Stage.
//
// A stage's tests call Suite once for each of its settings that matter. What
// sets one stage apart from another, how far back it holds frames, whether it
// has a ceiling, what it does to a sample that it has no cause to touch, is
// told in Options; everything else is the same for all of them.
package stagetest

import (
	"testing"

	"ledgerline/stages"
)

// A Maker makes a new stage of always the same settings for one track.
type Maker func(stages.Format) stages.Stage

// Options say what may be expected of a stage. The zero Options are those of a
// stage that passes every sample bit for bit at once.
type Options struct {
	// Rate is the frames a second of the test signals; 0 means 44100.
	Rate int

	// OutRate is that of what comes out, where it is another; 0: it is not. Then frame n out is the moment
	// n/OutRate, and what is said of single samples below is not looked at.
	OutRate int

	// HoldBack is the most frames the stage may have taken in and not handed on.
	HoldBack int

	// Ceiling is the magnitude beyond which a sample is an excess, which the
	// stage may change together with those around it; 0: no sample is.
	Ceiling float64

	// Holds says that no sample out passes Ceiling, whatever comes in.
	Holds bool

	// Reach is how many frames away from an excess, and from a sample that is
	// not finite, others of that channel may still be changed by it.
	Reach int

	// Remembers says that what is done later depends on all that came before, so that a sample that is not
	// finite may change the rest of its channel.
	Remembers bool

	// Linked says that an excess, or a sample that is not finite, of one channel may
	// change the others too where they are not silent.
	Linked bool

	// Want is what comes of a sample out of reach of every excess, for any
	// sample within a tenth of the ceiling; nil: itself.
	Want func(float64) float64

	// Within is how far the sample out may be from Want; 0: not a bit.
	Within float64

	// Books says that the stage's effect counts every sample it changed.
	Books bool
}

// Suite runs every check, each as a subtest.
func Suite(t *testing.T, make Maker, o Options) {
	for _, c := range checks {
		t.Run(c.name, func(t *testing.T) {
			if err := c.run(make, o); err != nil {
				t.Fatal(err)
			}
		})
	}
}

// checks are the rules of the contract. Each returns the first breach it finds.
var checks = []struct {
	name string
	run  func(Maker, Options) error
}{
	{"block lengths change nothing", checkBlockLengths},
	{"as many frames out as in", checkFrames},
	{"a new stage does the same again", checkFresh},
	{"frame n out is frame n in", checkAlignment},
	{"silence", checkSilence},
	{"channels keep apart", checkChannels},
	{"samples that are not finite", checkNonFinite},
	{"the ceiling is held", checkCeiling},
	{"the effect is what was done", checkEffect},
	{"no allocation per block", checkAllocations},
}

// format is the format of a test signal.
func (o Options) format(channels int) stages.Format {
	f := stages.Format{Rate: o.Rate, Channels: channels, Seed: 5}
	if f.Rate == 0 {
		f.Rate = 44100
	}
	return f
}

// out is how many frames come of so many.
func (o Options) out(frames int) int {
	if o.OutRate == 0 || frames <= 0 {
		return max(frames, 0)
	}
	return int(stages.FramesAt(int64(frames), o.format(1).Rate, o.OutRate))
}

// in is the frame in that is at the moment of a frame out, or just before it.
func (o Options) in(frame int) int {
	if o.OutRate == 0 {
		return frame
	}
	return frame * o.format(1).Rate / o.OutRate
}

// want is what should come of a sample out of reach of every excess.
func (o Options) want(x float64) float64 {
	if o.Want == nil {
		return x
	}
	return o.Want(x)
}

// frames is a signal's length: long enough for every excess in it to have
// frames around it that are out of its reach and of what is held back.
func (o Options) frames() int { return 6000 + 12*o.Reach + 4*o.HoldBack }
