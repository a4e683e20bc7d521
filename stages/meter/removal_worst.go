package meter

// A RemovalWindow is the stretch of a length in which the most was removed, the
// earliest of equal ones. Windows begin at every 10 ms and end when their length is
// up, or with the track.
type RemovalWindow struct {
	Frame   int64   // where it begins
	Removed float64 // sum of squares over all channels; 0: nothing was removed
	Driven  float64 // that of the driven input
}

// windows looks for the windows in which the most was removed. As in loudness, all
// sums are made anew for each.
type windows struct {
	n int64 // segments

	// The last energies, over 1, 10 and 100 segments; that up to segment k is
	// at k modulo the length.
	ones     [16]energies
	tens     [128]energies
	hundreds [256]energies

	momentary, shortTerm window
}

// window is a stretch of segments.
type window struct {
	first int64
	energies
}

// add takes the energies of the next segment.
func (w *windows) add(e energies) {
	k := w.n
	w.n++
	w.ones[k%16] = e
	var ten, hundred energies
	for i := k - 9; i <= k; i++ {
		ten.add(w.ones[i&15])
	}
	w.tens[k%128] = ten
	for i := k - 90; i <= k; i += 10 {
		hundred.add(w.tens[i&127])
	}
	w.hundreds[k%256] = hundred
	if w.n >= momentary {
		var sum energies
		for i := k - 30; i <= k; i += 10 {
			sum.add(w.tens[i%128])
		}
		w.momentary.outdo(window{w.n - momentary, sum})
	}
	if w.n >= shortTerm {
		var sum energies
		for i := k - 200; i <= k; i += 100 {
			sum.add(w.hundreds[i%256])
		}
		w.shortTerm.outdo(window{w.n - shortTerm, sum})
	}
}

// equal is up to which ratio sums are taken for equal: of windows with the same cuts, which differ in the
// order in which they are summed, the last bits shall not say which is the worst.
const equal = 1 + 1e-12

// outdo becomes o if more was removed there.
func (w *window) outdo(o window) {
	if o.removed > w.removed*equal {
		*w = o
	}
}
