package inspect

import (
	"math"
	"math/bits"

	"ledgerline/stages"
)

// Thresholds of the inspection. They are common practice, not a standard.
const (
	silenceDBFS    = -80  // below it a frame counts as silent: under a 16-bit file's dither
	clippedRun     = 3    // as many equal samples in a row at an extreme look clipped
	dcNoticedDBFS  = -60  // a DC offset from here on is named
	likenessDB     = -60  // channels whose difference is this far below them count as equal
	abruptDBFS     = -40  // a first or last frame above it was probably cut into
	silenceNoticed = 1.0  // s; longer silence at head or tail is named
	plateauNoticed = -60. // dBFS; runs at a lower extreme than this are not clipping
)

// A scan finds in a mix what its reading does not show. It takes blocks of any length.
type scan struct {
	frames   int64
	loud     float64 // magnitude from which a frame is not silent
	first    int64   // first frame that is not silent; -1: none yet
	last     int64
	head     float64 // largest magnitude of the first frame
	tail     float64 // of the last
	channels []channelScan
	pairs    []pairScan
}

// channelScan is what is known of one channel.
type channelScan struct {
	beyond    int64   // samples beyond full scale
	high, low plateau // the channel's positive and negative extreme
	word      wordScan
}

// peak is the largest magnitude of a finite sample.
func (c *channelScan) peak() float64 { return max(c.high.level, c.low.level) }

// plateau follows the runs of equal samples at the largest value so far.
type plateau struct {
	level   float64
	at      int64 // samples of the run under way; 0: none
	runs    int64 // runs of clippedRun samples or more
	samples int64 // in those runs
	longest int64
	frame   int64 // where the first of those runs begins
}

// wordScan finds the low bits that are never used. Codes are samples times
// 2^31, whole for every PCM encoding.
type wordScan struct {
	lowest   uint64 // the lowest bit that can be used; 0: it is not known
	used     uint64
	fraction bool // a sample was no 32-bit code
}

// pairScan compares two channels.
type pairScan struct {
	a, b       int
	difference float64 // sum of (a-b)^2
	sum        float64 // of (a+b)^2
}

// power is the sum of a^2+b^2.
func (p *pairScan) power() float64 { return (p.difference + p.sum) / 2 }

// newScan is a scan of words of so many bits; 0: of numbers that may be
// fractions of any word.
func newScan(channels, bits int) *scan {
	s := &scan{loud: stages.Linear(silenceDBFS), first: -1, last: -1, channels: make([]channelScan, channels)}
	if bits > 0 {
		for c := range s.channels {
			s.channels[c].word.lowest = 1 << (32 - bits)
		}
	}
	for a := range channels {
		for b := a + 1; b < channels; b++ {
			s.pairs = append(s.pairs, pairScan{a: a, b: b})
		}
	}
	return s
}

// add reads the next frames.
func (s *scan) add(b stages.Block) {
	n := b.Frames()
	if n == 0 {
		return
	}
	if s.frames == 0 {
		s.head = frameMax(b, 0)
	}
	s.tail = frameMax(b, n-1)
	s.sound(b)
	for c := range b {
		s.channels[c].add(b[c], s.frames)
	}
	for i := range s.pairs {
		p := &s.pairs[i]
		p.add(b[p.a], b[p.b])
	}
	s.frames += int64(n)
}

// frameMax is the largest magnitude of one frame.
func frameMax(b stages.Block, i int) float64 {
	m := 0.0
	for c := range b {
		if v := math.Abs(b[c][i]); v > m {
			m = v
		}
	}
	return m
}

// sound finds the first and last frames of b that are not silent.
func (s *scan) sound(b stages.Block) {
	n := b.Frames()
	if s.first < 0 {
		for i := 0; i < n; i++ {
			if frameMax(b, i) > s.loud {
				s.first = s.frames + int64(i)
				break
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		if frameMax(b, i) > s.loud {
			s.last = s.frames + int64(i)
			return
		}
	}
}

func (c *channelScan) add(x []float64, frame int64) {
	c.word.add(x)
	for i, v := range x {
		if v < c.high.level && -v < c.low.level && c.high.at|c.low.at == 0 {
			continue // the usual case: no extreme, and no run to end
		}
		at := frame + int64(i)
		if v-v != 0 { // not finite
			c.high.end(at)
			c.low.end(at)
			continue
		}
		c.high.add(v, at)
		c.low.add(-v, at)
	}
	for _, v := range x {
		if (v > 1 || v < -1) && v-v == 0 {
			c.beyond++
		}
	}
}

func (p *plateau) add(v float64, frame int64) {
	switch {
	case v < p.level:
		p.end(frame)
	case v > p.level:
		*p = plateau{level: v, at: 1}
	default:
		p.at++
	}
}

// end closes the run under way; frame is the first one after it.
func (p *plateau) end(frame int64) {
	if p.at >= clippedRun && p.level > 0 {
		if p.runs == 0 {
			p.frame = frame - p.at
		}
		p.runs++
		p.samples += p.at
		p.longest = max(p.longest, p.at)
	}
	p.at = 0
}

func (w *wordScan) add(x []float64) {
	if w.fraction || w.used&w.lowest != 0 {
		return // it cannot get longer
	}
	for _, v := range x {
		code := v * (1 << 31)
		if !(math.Abs(code) < 1<<62) || code != math.Trunc(code) {
			w.fraction = true
			return
		}
		w.used |= uint64(int64(code))
	}
}

// bits is the word length that holds every sample: 0 for silence, and false
// where no PCM word does.
func (w *wordScan) bits() (int, bool) {
	if w.used == 0 {
		return 0, !w.fraction
	}
	return max(32-bits.TrailingZeros64(w.used), 1), !w.fraction
}

func (p *pairScan) add(a, b []float64) {
	for i, x := range a {
		y := b[i]
		p.difference += float64((x - y) * (x - y))
		p.sum += float64((x + y) * (x + y))
	}
}
