package pipeline

import "ledgerline/pipeline/release"

// Progress is told how a render goes. Its methods are called by several
// goroutines at once; those about one render never are, and come in the order
// TrackBegin, TrackAdvance as often as it takes, TrackEnd; where the track is rendered
// again, TrackAgain and more of TrackAdvance come before the end. A render that needs
// no work, or fails before it has begun, has a TrackEnd only. Those that need no
// work end before the first of the others begins.
type Progress interface {
	// Begin is told how many renders there are to decide on.
	Begin(renders int)
	// TrackBegin is told how many frames the track has.
	TrackBegin(r *release.Render, frames int64)
	// TrackAdvance is told how many frames more are done.
	TrackAdvance(r *release.Render, frames int64)
	// TrackAgain is told that all frames are done and the track is rendered once more,
	// because a hold must aim lower, and how many frames that takes.
	TrackAgain(r *release.Render, frames int64)
	TrackEnd(r *release.Render, result Result)
	// End comes when nothing more will.
	End()
}

// silent is the Progress of a caller who wants none.
type silent struct{}

func (silent) Begin(int)                           {}
func (silent) TrackBegin(*release.Render, int64)   {}
func (silent) TrackAdvance(*release.Render, int64) {}
func (silent) TrackAgain(*release.Render, int64)   {}
func (silent) TrackEnd(*release.Render, Result)    {}
func (silent) End()                                {}
