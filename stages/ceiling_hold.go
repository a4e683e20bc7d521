package stages

var ceilingHoldKind = Kind{
	Name: "ceiling_hold",
	Doc:  "No sample passes the ceiling, ever.",
	Keys: []Key{
		ceilingKey,
		{Name: "peak", Type: Word, Words: []string{"sample", "true"}, Default: "true", Doc: "Which peak is held; the method plain holds the samples only."},
		{Name: "method", Type: Word, Words: []string{"band_limited", "plain"}, Default: "band_limited", Doc: "How what is over is removed: without adding aliasing, or by clipping at the track's rate."},
	},
	New: func(f Format, s Settings) (Stage, error) {
		if s["method"] == "plain" {
			return hardClipKind.New(f, s)
		}
		ceiling, _ := s.Ceiling()
		find := findTrue
		if s["peak"] == "sample" {
			find = findSample
		}
		return newPerChannel(f.Channels, func() worker { return newKeeper(ceiling, find) }), nil
	},
}

// A keeper keeps one channel within a ceiling. It first clips what is over, band-limited,
// which takes broad peaks down to the ripple of the band limit, and then takes down the peaks
// that are left.
type keeper struct {
	clip   *clipper
	hold   *holder
	came   []float64 // what came in and has not been handed on, from first on
	first  int
	passed []float64 // scratch: from clip to hold
	effect Effect
}

func newKeeper(ceiling float64, find func(*holder, int, int)) *keeper {
	hold := newHolder(ceiling, find)
	return &keeper{
		clip:   newClipper(hold.aims[0], holdFactor),
		hold:   hold,
		effect: Effect{Cut: 1},
	}
}

func (k *keeper) push(dst, x []float64) []float64 {
	if k.first > len(k.came)/2 {
		k.came = k.came[:copy(k.came, k.came[k.first:])]
		k.first = 0
	}
	k.came = append(k.came, x...)
	k.passed = k.clip.push(k.passed[:0], x)
	at := len(dst)
	dst = k.hold.push(dst, k.passed)
	k.book(dst[at:])
	return dst
}

func (k *keeper) flush(dst []float64) []float64 {
	at := len(dst)
	k.passed = k.clip.flush(k.passed[:0])
	dst = k.hold.flush(k.hold.push(dst, k.passed))
	k.book(dst[at:])
	return dst
}

// book compares what goes out with what came in.
func (k *keeper) book(out []float64) {
	came := k.came[k.first : k.first+len(out)]
	for i, y := range out {
		if x := came[i]; x != y {
			k.effect.book(x, y, k.hold.ceiling)
		}
	}
	k.first += len(out)
}

func (k *keeper) took() Effect {
	e := k.effect
	e.Clamped = k.hold.clamped
	return e
}
