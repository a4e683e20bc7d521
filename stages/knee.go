package stages

// A knee is the curve by which a clip turns magnitudes into smaller ones. Up to where it starts they stay
// what they are, and from where it ends on they are the ceiling. With the ceiling at 1 and the knee starting
// at T, the slope falls linearly from 1 to 0 between T and 2-T:
//
//	y = x - (x-T)^2 / (4 (1-T)).
//
// Its second derivative jumps at either end, and there is no other jump: that is what the correction
// of corners needs.
type knee struct {
	ceiling      float64
	starts, ends float64
	// the second derivative of what is taken off, between the two; 0 = they are one, the ceiling
	bend float64
}

// newKnee is the curve of a knee that starts so many dB below a ceiling; 0 = a corner at the ceiling.
func newKnee(ceiling, db float64) knee {
	starts := float64(ceiling * Linear(-db))
	if !(starts < ceiling) {
		return knee{ceiling: ceiling, starts: ceiling, ends: ceiling}
	}
	ends := ceiling + (ceiling - starts)
	return knee{ceiling, starts, ends, 0.5 / (ceiling - starts)}
}

// The zones of a knee.
const (
	below = iota // nothing is taken off
	inside
	capped // the ceiling is what is left
)

func (k *knee) zone(x float64) int {
	switch {
	case !(x > k.starts):
		return below
	case x < k.ends:
		return inside
	}
	return capped
}

// level is where a zone begins.
func (k *knee) level(zone int) float64 {
	if zone == inside {
		return k.starts
	}
	return k.ends
}

// excess is what is taken off a magnitude.
func (k *knee) excess(x float64) float64 {
	switch k.zone(x) {
	case below:
		return 0
	case inside:
		v := x - k.starts
		return float64(float64(float64(0.5*k.bend)*v) * v) // rounded, so that no processor fuses it with a sum
	}
	return x - k.ceiling
}

// clip is what is left of a magnitude: never more than the ceiling.
func (k *knee) clip(x float64) float64 {
	if k.zone(x) == capped {
		return k.ceiling
	}
	return min(x-k.excess(x), k.ceiling)
}

// excessOf is what is taken off a magnitude that is in the zone, as a series in time around some moment, from
// its own.
func (k *knee) excessOf(m series, zone int) (e series) {
	switch zone {
	case inside:
		m[0] -= k.starts
		e = m.times(m).scaled(0.5 * k.bend)
	case capped:
		e = m
		e[0] -= k.ceiling
	}
	return e
}

// kneeKey and linkKey are settings of clips.
var (
	kneeKey = Key{
		Name: "knee_db", Type: Number, Min: 0, Max: 12, Default: 0.0, Unit: "dB",
		Doc: "How far below the ceiling clipping sets in; 0 clips at the ceiling alone.",
	}
	linkKey = Key{
		Name: "link", Type: Truth, Default: false,
		Doc: "Whether what is taken off one channel is taken off all of them in proportion.",
	}
)

// knee is the curve that the settings of a clip ask for.
func (s Settings) knee() knee {
	ceiling, _ := s.Ceiling()
	db, _ := s["knee_db"].(float64)
	return newKnee(ceiling, db)
}

// Linked reports whether the settings ask for one treatment of all channels, in which every channel knows of
// the others.
func (s Settings) Linked() bool {
	link, _ := s["link"].(bool)
	return link
}
