package stages

// A resampler changes the rate of one channel. It filters steeply where that is cheap, by transforms between
// the lower rate and twice that, and goes from there to the higher rate, or comes from it, by short rows of
// taps: between the band and its next image there is then a whole band's room.
type resampler struct {
	up, down    int64
	came, went  int64
	first, last step
	between     []float64 // what the first step made of a block
}

// A step is half the way. Both together are in time: the first begins as early as the second looks back.
type step interface {
	// push takes the next frames and appends those that are finished.
	push(dst, x []float64) []float64
}

// rowsEarly is how many frames at the lower rate before the track the rows look back.
const rowsEarly = (rowsReach + 1) / 2

func newResampler(up, down int) *resampler {
	r := &resampler{up: int64(up), down: int64(down)}
	switch {
	case up == 2*down:
		r.first = newDoubling(0)
	case down == 2*up:
		r.first = newHalving(2 * steepReach)
	case up > down:
		r.first = newDoubling(rowsEarly)
		r.last = newRowing(up, 2*down, 1, 2*rowsEarly, 0)
	default:
		r.first = newRowing(2*up, down, 2*float64(up)/float64(down), 0, -2*steepReach)
		r.last = newHalving(0)
	}
	return r
}

func (r *resampler) push(dst, x []float64) []float64 {
	r.came += int64(len(x))
	return r.through(dst, x)
}

func (r *resampler) through(dst, x []float64) []float64 {
	from := len(dst)
	if r.last == nil {
		dst = r.first.push(dst, x)
	} else {
		r.between = r.first.push(r.between[:0], x)
		dst = r.last.push(dst, r.between)
	}
	r.went += int64(len(dst) - from)
	return dst
}

// flush appends what there is left up to the end of the last frame that came.
func (r *resampler) flush(dst []float64) []float64 {
	frames, silence := (r.came*r.up+r.down-1)/r.down, make([]float64, 4*steepFrames)
	for r.went < frames {
		dst = r.through(dst, silence)
	}
	beyond := int(r.went - frames)
	r.went = frames
	return dst[:len(dst)-beyond]
}

// took is nothing: the programme is the same at another rate.
func (r *resampler) took() Effect { return Effect{} }
