package track

import (
	"math"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// An aim is how far below its ceiling one hold of a chain aims. A hold promises that what
// is read after it keeps its ceiling, as far as the chain's end or the first stage that may
// raise peaks on purpose: a dither adds noise, so the hold must leave it room.
type aim struct {
	stage    int             // index of the hold in the chain
	end      int             // the last boundary that the promise is for
	truePeak bool            // it is for the true peak too, not only for the samples
	readBy   stages.WordList // the meters whose true peak at the chain's end it is for
	wanted   float64         // the ceiling as the ledger has it, dBFS

	lowerDB            float64 // all of it: what rounding needs, and what was missing
	repeatedDB         float64 // what was missing, the sum over the repeats
	before, last, best attempt
	vain               int // repeats in a row that did not help
	lowered            int // how often it was lowered
}

// An attempt is a render at one aim.
type attempt struct {
	made       bool
	repeatedDB float64
	read       float64 // the highest peak that the promise is about, dB
}

// aims are those of all the holds of a chain that promise something.
type aims []aim

const (
	// MaxRenders is how often a track is rendered at most so that a promise is kept; where none of
	// these keeps it, once more at the aim that came nearest.
	MaxRenders = 6
	// aimStepDB is how much lower than what was missing a repeat aims: a peak ends as much higher or lower from
	// one aim to the next. With 0.0001 the three tracks of the example take nine renders, not six.
	aimStepDB = 2e-3
	// truePeakRoomDB is what a true peak may read over what the hold aimed at, as it is read by another
	// interpolation. With 0.001 a loud track is rendered twice at 5 of 17 levels, for 0.0011 dB at most.
	truePeakRoomDB = 3e-3
	// maxRoomDB is the most that a hold leaves for rounding at once. Where that needs more,
	// few codes are left below the ceiling, and whether they rise so far is found by rendering.
	maxRoomDB = 1.0
	// maxVain is how many repeats in a row may be in vain before it is given up.
	maxVain = 1
	// MaxRepeatedDB is the most that repeats lower an aim by.
	MaxRepeatedDB = 3.0
	// shortMarginDB is how much further an aim is lowered for the reading of a short filter, for each repeat
	// after the second. That depends on where samples lie: other places read over in each render.
	shortMarginDB = 0.02
)

// newAims finds the holds of a chain and their first aims.
func newAims(chain []stages.Use, encoding audiofile.Encoding) aims {
	var all aims
	for k, use := range chain {
		promise := use.Promise()
		if promise == stages.NoPromise {
			continue
		}
		db, _ := use.Settings.CeilingDBFS()
		a := aim{stage: k, truePeak: promise == stages.TruePeaks}
		a.readBy = use.Settings.ReadBy()
		a.wanted = *ledger.Level(db)
		after := chain[k+1:]
		n := quietStages(after)
		a.end = k + 1 + n
		if n < len(after) {
			encoding = audiofile.Float64 // it is another stage's peaks that are rounded
		}
		a.lowerDB = roomFor(stages.Linear(db), after[:n], encoding, a.truePeak)
		if a.truePeak {
			a.lowerDB += truePeakRoomDB
		}
		all = append(all, a)
	}
	return all
}

// quietStages is how many of the first stages raise no level on purpose.
func quietStages(chain []stages.Use) int {
	for k, use := range chain {
		if use.RaisesPeaks() {
			return k
		}
	}
	return len(chain)
}

// roomFor is how far below a ceiling, in dB, a peak must stay before these stages and the
// encoding, so that it does not pass the ceiling after any of them by what they round.
func roomFor(ceiling float64, chain []stages.Use, encoding audiofile.Encoding, truePeak bool) float64 {
	gain, risen, room := 1.0, 0.0, 0.0
	add := func(r stages.Rise) {
		if truePeak {
			risen += r.True
		} else {
			risen += r.Sample
		}
		room = max(room, ceiling-(ceiling-risen)/gain)
	}
	bits := 0 // the words that the signal already consists of
	for _, use := range chain {
		factor, _ := use.Factor()
		gain = float64(gain * math.Abs(factor.By))
		risen = float64(risen * math.Abs(factor.By))
		if factor.DB != 0 {
			bits = 0
		}
		if r, ok := use.Rounding(); ok {
			bits = r.Bits
			add(r.Rise)
		}
	}
	if word := wordOf(encoding); word > 0 && (bits == 0 || bits > word) {
		add(stages.RiseTo(word))
	}
	if room >= ceiling {
		return maxRoomDB
	}
	return min(-stages.DB(1-room/ceiling), maxRoomDB)
}

// wordOf is the length of the words that an encoding rounds peaks near full scale to; 0: it
// rounds nothing.
func wordOf(e audiofile.Encoding) int {
	if e == audiofile.Float32 {
		return 25 // 24 bits and the sign that floating point has besides
	}
	return e.WordBits()
}

// lowerDB is how far below its ceiling stage k is to aim.
func (all aims) lowerDB(k int) float64 {
	for _, a := range all {
		if a.stage == k {
			return a.lowerDB
		}
	}
	return 0
}

// repeatedDB is the most that any aim was lowered by in repeats, as the ledger has it.
func (all aims) repeatedDB() float64 {
	most := 0.0
	for _, a := range all {
		most = max(most, a.repeatedDB)
	}
	return *ledger.Level(most)
}

// read notes what a render read.
func (all aims) read(entry *ledger.Track) {
	for i := range all {
		a := &all[i]
		a.before, a.last = a.last, attempt{true, a.repeatedDB, a.peak(entry)}
		if !a.best.made || a.last.read < a.best.read {
			a.best = a.last
		}
	}
}

// lower lowers the aims of the holds whose promise the last render did not keep, by just
// what is missing, and reports whether another render may keep it.
func (all aims) lower() bool {
	again := false
	for i := range all {
		again = all[i].lower() || again
	}
	return again
}

func (a *aim) lower() bool {
	by := a.last.read - a.wanted
	if by <= 0 {
		return false
	}
	if lowered := a.last.repeatedDB - a.before.repeatedDB; a.before.made && lowered > 0 {
		by *= a.measure(lowered)
	}
	if a.vain > maxVain {
		return false
	}
	if a.readBy.Has(stages.ReadBS1770) || a.readBy.Has(stages.ReadSinc49) {
		by += float64(shortMarginDB * float64(max(a.lowered-1, 0)))
	}
	a.lowered++
	by = min(by+aimStepDB, MaxRepeatedDB-a.repeatedDB)
	a.lowerBy(by)
	return by > 0
}

// measure is how much further than what is missing an aim is to be lowered, as the last repeat,
// which lowered it by so much, has shown: 1 to 4. Of one in vain nothing can be learnt: a
// coarse word rounds peaks up and down by more than is missing.
func (a *aim) measure(loweredDB float64) float64 {
	helped := a.before.read - a.last.read
	if helped <= 0 {
		a.vain++
		return 4
	}
	a.vain = 0
	return min(max(loweredDB/helped, 1), 4)
}

func (a *aim) lowerBy(db float64) {
	a.lowerDB += db
	a.repeatedDB += db
}

// putBack puts the aims back to the best that was tried where no render kept the promise, and
// reports whether that takes another render.
func (all aims) putBack() bool {
	again := false
	for i := range all {
		if a := &all[i]; a.best.read > a.wanted && a.best.repeatedDB != a.last.repeatedDB {
			a.lowerBy(a.best.repeatedDB - a.repeatedDB)
			again = true
		}
	}
	return again
}

// peak is the highest peak that the promise is about; -Inf in silence.
func (a *aim) peak(entry *ledger.Track) float64 {
	peak := math.Inf(-1)
	add := func(p *float64) {
		if p != nil {
			peak = max(peak, *p)
		}
	}
	for _, b := range entry.Boundaries[a.stage+1 : a.end+1] {
		add(a.peakAt(b))
	}
	if w := entry.Whole; w != nil && a.end == len(entry.Boundaries)-1 {
		if a.readBy.Has(stages.ReadBS1770) {
			add(w.TruePeakBS1770DBTP)
		}
		if a.readBy.Has(stages.ReadSinc49) {
			add(w.TruePeakSinc49DBTP)
		}
	}
	return peak
}

// peakAt is the peak at a boundary that the promise is about; nil: silence.
func (a *aim) peakAt(b ledger.Boundary) *float64 {
	if a.truePeak {
		return b.TruePeakDBTP
	}
	return b.SamplePeakDBFS
}
