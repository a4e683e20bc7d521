package stages

import (
	"ledgerline/stages/bandlimit"
)

const (
	maskedPasses = 16
	// maskedRoomDB is how far below the ceiling the passes aim, so that the hold after them finds next to
	// nothing: its pulses take no heed of the mask.
	maskedRoomDB = 0.03
	// maskedFirstStep is the share of a peak's excess that the first pass takes off. The last takes all of it.
	maskedFirstStep = 0.3
)

// A masked clipper takes the peaks of one channel down by pulses whose spectrum follows what the programme
// masks at that moment.
//
// Of all that could be removed so that the signal keeps a level, what weighs least against the mask is a sum
// of pulses at the peaks, each with the mask's spectrum (the dual of the quadratic problem of
// perception-based clipping; Defraene et al., IEEE Trans. ASLP 20(10), 2012). How high they are is found in
// passes, which begin with small steps and never give anything back.
type maskedClipper struct {
	stream
	tools   *maskedTools
	mask    *masker
	ceiling float64
	aim     float64
	origin  int64 // the track's frame that frame 0 of the stretch is
	lead    int   // tiles by which the first pass follows the newest
	gap     int   // tiles from one pass to the next
	after   int   // tiles that a pass is done with a tile after it has looked for peaks
	passes  [maskedPasses]maskedPass

	// What a pass takes off, at the frames of the stretch and halfway after them; no two passes are at the same.
	removed, between []float64
	dirty            []bool // of each tile: there is anything in removed
	// of each tile: the pass that last looked found nothing, and nothing around it has changed since
	quiet []bool

	fourfold bandlimit.Fourfold // scratch

	came   []float64 // what came in and has not been handed on, from first up to last; after its end its begin
	first  int       // in whole tiles, as it is handed on
	last   int
	effect tally
}

func newMasked(ceiling float64, tools *maskedTools) *maskedClipper {
	m := &maskedClipper{tools: tools, ceiling: ceiling, aim: ceiling * Linear(-maskedRoomDB)}
	m.after = tilesOf(2*tools.before + drift)
	// A look depends on three tiles around its own, and what a pass is about to take off must not lie where the
	// one before it is not done.
	m.gap = m.after + max(3, (58+tools.after-tools.before)/tile)
	// A peak is cut when the peaks that its pulse reaches are known, and with them the windows of the masks
	// nearest to these.
	m.lead = tilesOf(tools.hop/2 + tools.model.Window()/2 - bandlimit.Reach)
	for n := range m.passes {
		x := float64(n) / (maskedPasses - 1)
		m.passes[n].step = maskedFirstStep + float64((1-maskedFirstStep)*float64(x*x))
	}
	lag := m.lead + (maskedPasses-1)*m.gap + m.after
	in := bandlimit.NewInterpolator(2, bandlimit.Steep, leastStretch(lag)+64*tile)
	n := in.Frames() + in.Room()
	m.dirty, m.quiet = make([]bool, n/tile+1), make([]bool, n/tile+1)
	n -= (m.lead+1)*tile + bandlimit.Reach // where the first pass has not been there is nothing to take off
	m.removed, m.between = make([]float64, n+tile+tools.width), make([]float64, n+tile+tools.width)
	m.origin = -int64(bandlimit.Reach + (lag+early)*tile)
	held := lag*tile + bandlimit.Reach
	// From the newest peak that the first pass reckons with to the oldest of the last one.
	withPeaks := ((maskedPasses-1)*m.gap+2)*tile + tools.before + tools.after + 2*drift
	m.mask = newMasker(tools, held+tools.model.Window()+tools.hop, withPeaks)
	m.came = make([]float64, (held+tools.hop)/tile*tile+2*tile)
	m.start(in, m, lag)
	return m
}

// tilesOf is how many tiles it takes to hold so many frames.
func tilesOf(frames int) int { return (max(frames, 0) + tile - 1) / tile }

func (m *maskedClipper) push(dst, x []float64) []float64 {
	for len(x) > 0 { // the mask must not run ahead of the passes
		n := min(len(x), m.tools.hop)
		m.take(x[:n])
		m.mask.push(x[:n])
		dst = m.stream.push(dst, x[:n])
		x = x[n:]
	}
	return dst
}

// take keeps what comes in until it is compared with what goes out.
func (m *maskedClipper) take(x []float64) {
	for len(x) > 0 {
		n := copy(m.came[m.last:], x)
		x = x[n:]
		m.last = (m.last + n) % len(m.came)
	}
}

func (m *maskedClipper) flush(dst []float64) []float64 {
	m.mask.end()
	return m.stream.flush(dst)
}

func (m *maskedClipper) work(t int) {
	t -= m.lead
	for i := range m.passes {
		p := &m.passes[i]
		m.look(p, t)
		m.cutKnown(p, float64((t+1)*tile-drift))
		m.takeOff(t - m.after)
		t -= m.gap
	}
}

// takeOff takes what a pass has found off a tile.
func (m *maskedClipper) takeOff(t int) {
	if !m.dirty[t] {
		return
	}
	m.dirty[t] = false
	removed, between := m.removed[t*tile:][:tile], m.between[t*tile:][:tile]
	m.in.RemoveTwice(t, removed, between)
	clear(removed)
	clear(between)
	for k := t - 3; k <= t+3; k++ {
		m.quiet[k] = false
	}
}

func (m *maskedClipper) drop(tiles int) {
	shift(m.removed, tiles*tile)
	shift(m.between, tiles*tile)
	shift(m.dirty, tiles)
	shift(m.quiet, tiles)
	m.origin += int64(tiles * tile)
	for i := range m.passes {
		for k := range m.passes[i].peaks {
			m.passes[i].peaks[k].at -= float64(tiles * tile)
		}
	}
}

func (m *maskedClipper) finish(y []float64, _ int) {
	came := m.came[m.first : m.first+len(y)]
	m.first = (m.first + len(y)) % len(m.came)
	m.effect.bookAll(came, y, m.ceiling)
}

func (m *maskedClipper) took() Effect { return m.effect.total() }

func (m *maskedClipper) tookOn(track int) Effect { return m.effect.on(track) }
