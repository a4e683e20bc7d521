package stages

import "ledgerline/stages/kernel"

// A Teller is a stage that tells apart what it has limited or clamped in each track of
// a stream, see Format.Ends.
type Teller interface {
	// EffectOn is Effect for the frames of the track of that number, from 0.
	EffectOn(track int) Effect
}

// A tally is the effects of a stage on one channel, told apart by tracks where the channel is a
// stream of several. Its zero value is for one track.
type tally struct {
	ends  []int64 // the first frames after each track of the stream; none: it is one
	frame int64   // the one that comes next
	each  effects
}

// tellApart has the tallies of all channels tell tracks apart.
func tellApart(channels []tally, ends []int64) {
	for c := range channels {
		channels[c].ends = ends
	}
}

// totalOf is the effect on all tracks of all channels.
func totalOf(channels []tally) (sum Effect) {
	for c := range channels {
		sum.Add(channels[c].total())
	}
	return sum
}

// allOn is the effect on one track of all channels.
func allOn(channels []tally, track int) (sum Effect) {
	for c := range channels {
		sum.Add(channels[c].on(track))
	}
	return sum
}

// at is the effect to book frame i in of those that come next.
func (t *tally) at(i int) *Effect {
	if t.each == nil {
		t.each = newEffects(max(len(t.ends), 1))
	}
	return &t.each[t.track(t.frame+int64(i))]
}

// track is the number of the track that has a frame.
func (t *tally) track(frame int64) int {
	n := 0
	for n < len(t.ends)-1 && frame >= t.ends[n] {
		n++
	}
	return n
}

// take is the effect to book the frames in that come next, and how many of these many they are
// before the track ends.
func (t *tally) take(frames int) (e *Effect, n int) {
	e = t.at(0)
	if track := t.track(t.frame); track < len(t.ends)-1 {
		frames = int(min(int64(frames), t.ends[track]-t.frame))
	}
	t.frame += int64(frames)
	return e, frames
}

// clamp brings what comes out within the ceiling, and books that and all that differs from what
// came in; over is the level beyond which that was over.
func (t *tally) clamp(came, y []float64, ceiling, over float64) {
	for len(y) > 0 {
		e, n := t.take(len(y))
		for i := kernel.Within(y[:n], ceiling); i < n; i++ {
			if v := min(max(y[i], -ceiling), ceiling); v != y[i] {
				y[i] = v
				e.Clamped++
			}
		}
		e.bookAll(came[:n], y[:n], over)
		came, y = came[n:], y[n:]
	}
}

// bookAll books what differs between what comes out and what came in, see Effect.bookAll.
func (t *tally) bookAll(came, y []float64, ceiling float64) {
	for len(y) > 0 {
		e, n := t.take(len(y))
		e.bookAll(came[:n], y[:n], ceiling)
		came, y = came[n:], y[n:]
	}
}

// total is the effect on all tracks.
func (t *tally) total() Effect { return t.each.total() }

// on is the effect on one track.
func (t *tally) on(track int) Effect {
	if track >= len(t.each) {
		return Effect{}
	}
	return t.each[track]
}
