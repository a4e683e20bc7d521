package stages

const (
	// A broad run rises above this many times the ceiling, or lasts this many frames.
	broadHeight = 1.3
	broadLength = 2 * tile
	// runReach is how many tiles back a run that turns out to be broad may have begun.
	runReach = broadLength/tile + 1
)

// A run is the stretch from where an excess enters to where it leaves zero, for as long as it
// is not known whether it is broad. What it owes is kept back until then.
type run struct {
	high  float64 // a value beyond it makes a run broad
	long  int     // so do more values than this
	open  bool
	broad bool
	count int
	kept  []owedAt
}

// owedAt is what is owed at a value.
type owedAt struct {
	m int
	v float64
}

// pending reports whether what is owed now is to be kept back. No run: never.
func (r *run) pending() bool { return r != nil && !r.broad }

func (r *run) begin() { r.open, r.broad, r.count, r.kept = true, false, 0, r.kept[:0] }

func (r *run) end() { r.open, r.broad = false, false }

// grow takes the next value of a run, a magnitude, and reports whether the run
// has become broad by it.
func (r *run) grow(v float64) bool {
	r.count++
	if !r.broad && (v > r.high || r.count > r.long) {
		r.broad = true
		return true
	}
	return false
}

func (r *run) add(m int, v float64) {
	if r.open {
		r.kept = append(r.kept, owedAt{m, v})
	}
}

func (r *run) drop(values int) {
	for i := range r.kept {
		r.kept[i].m -= values
	}
}
