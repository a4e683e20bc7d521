package pipeline

import "ledgerline/pipeline/release"

// An Event is a step of a run. Several goroutines tell of events at once. Those about
// one render come in order: Begun, Advanced as often as it takes, Ended; where the track
// is rendered again, BegunAgain and more of Advanced come before the end. A render that
// needs no work, or fails before it has begun, has only Ended. Those that need no work
// end before the first of the others begins.
type Event struct {
	Step   Step
	Render *release.Render // what it is about; nil: the run
	Count  int64           // of renders, or of the track's frames, as the step says
	Result Result          // of Ended
	Line   []byte          // of Noted; not to be kept
}

// Step is what an event tells of.
type Step int

// The steps of a run.
const (
	Deciding Step = iota // on Count renders, which is the beginning
	Begun                // a track of Count frames
	Advanced             // Count frames more of a track are done
	// all frames are done, and the track is rendered once more, because a hold must aim lower: Count frames
	BegunAgain
	Ended // a render, with its Result
	Noted // a Line of the journal; one at a time
	Done  // nothing more will come
)

// tell tells whoever wants to know.
func (e *engine) tell(event Event) {
	if e.options.Progress != nil {
		e.options.Progress(event)
	}
}
