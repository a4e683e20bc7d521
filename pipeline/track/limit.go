package track

import (
	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// An encoding in whole numbers limits samples to full scale. What is read, judged and heard at the chain's
// end is what is written, so that is done where the last samples are made: in the stage after which only
// measures follow.

// limits says which stage's samples an encoding may limit, counted from 0; -1: none. A stage that rounds to
// no more bits, or lets nothing pass a ceiling of full scale or less, leaves nothing to limit.
func limits(chain []stages.Use, encoding audiofile.Encoding) int {
	k := len(chain) - 1
	for k > 0 && chain[k].Of().Reads {
		k--
	}
	if k < 0 || encoding.WordBits() == 0 {
		return -1
	}
	if r, ok := chain[k].Rounding(); ok && r.Bits <= encoding.WordBits() {
		return -1
	}
	kind := chain[k].Of()
	if db, ok := chain[k].Settings.CeilingDBFS(); ok && db <= 0 && kind.Cuts && !kind.MayPass {
		return -1
	}
	return k
}

// A limiter limits the samples of one part of a stage: of all channels, or of one.
type limiter struct {
	encoding audiofile.Encoding
	ends     []int64 // of a stream, the first frames after each of its tracks
	past     int64   // frames that have gone by
	found    []limited
}

// limited is what was limited of one track.
type limited struct {
	samples int64
	largest float64 // magnitude; 0: none was
}

func (l *limited) add(samples int64, largest float64) {
	l.samples += samples
	l.largest = max(l.largest, largest)
}

func newLimiters(parts int, encoding audiofile.Encoding, ends []int64) []limiter {
	all := make([]limiter, parts)
	for i := range all {
		all[i] = limiter{encoding: encoding, ends: ends, found: make([]limited, max(len(ends), 1))}
	}
	return all
}

// limit limits the frames that come next.
func (l *limiter) limit(b stages.Block) {
	from, frames := 0, b.Frames()
	for track := range l.found {
		to := frames
		if track < len(l.ends) {
			to = int(min(max(l.ends[track]-l.past, int64(from)), int64(frames)))
		}
		for _, x := range b {
			l.found[track].add(l.encoding.Limit(x[from:to]))
		}
		from = to
	}
	l.past += int64(frames)
}

// limited is what the encoding limits of the pass's samples. Those that are not finite are left to the
// encoder.
func (p *Pass) limited() (sum limited) {
	for i := range p.joined().limiters {
		found := p.joined().limiters[i].found[p.part.number]
		sum.add(found.samples, found.largest)
	}
	return sum
}

// Limited is how many samples of the output were brought within full scale, once it has been written.
func (p *Pass) Limited() int64 { return p.limited().samples + p.To.Limited() }

// limitsLike says whether stage n of two chains ends alike: an encoding limits it in both, or in neither.
func limitsLike(n int, a []stages.Use, ofA *Tries, b []stages.Use, ofB *Tries) bool {
	inA, inB := ofA.limits(a) == n, ofB.limits(b) == n
	return inA == inB && (!inA || ofA.encoding == ofB.encoding)
}

// limits is limits for the encoding that the tries are for; -1 without any.
func (t *Tries) limits(chain []stages.Use) int {
	if t == nil {
		return -1
	}
	return limits(chain, t.encoding)
}
