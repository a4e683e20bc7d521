package ear

// disturbing is the ratio of noise to mask, 1.5 dB, from which on a window counts as disturbed. [4.6; that it
// is met counts too, as the Recommendation has it]
const disturbing = 1.4125375446227544

const worstSeconds = 15

// A score counts the windows of one channel. Windows after the last in which something is heard do not count,
// and which that is is known only later: now is up to the last window, sure up to the last in which something
// was heard.
type score struct {
	now, sure tally
	length    int64     // windows of 15 s
	noise     []float64 // sums up to each of the last windows of 15 s, in turn
	disturbed []int64
}

type tally struct {
	first, windows int64   // number of the first window that counts, and how many do
	noise          float64 // sum of the windows' mean ratios
	disturbed      int64
	worstNoise     stretch
	worstDisturbed stretch
}

// A stretch is 15 s: its first window, and the sum over it.
type stretch struct {
	window int64
	value  float64
}

func newScore(m *Model) score {
	length := max(1, (worstSeconds*int64(m.rate)+int64(m.hop)/2)/int64(m.hop))
	return score{length: length, noise: make([]float64, length), disturbed: make([]int64, length)}
}

func (s score) clone() score {
	s.noise, s.disturbed = append([]float64(nil), s.noise...), append([]int64(nil), s.disturbed...)
	return s
}

// add counts the window of a number, with its mean and its largest ratio.
func (s *score) add(window int64, mean, most float64) {
	t := &s.now
	if t.windows == 0 {
		t.first, t.worstNoise.window, t.worstDisturbed.window = window, window, window
	}
	t.windows++
	t.noise += mean
	if most >= disturbing {
		t.disturbed++
	}
	// The sums up to the window before the stretch that ends with this one, and then those up to this one in
	// their place.
	place := t.windows % s.length
	noise, disturbed := t.noise, t.disturbed
	if t.windows > s.length {
		noise, disturbed = noise-s.noise[place], disturbed-s.disturbed[place]
	}
	s.noise[place], s.disturbed[place] = t.noise, t.disturbed
	from := max(t.first, window-s.length+1)
	t.worstNoise.meet(from, noise)
	t.worstDisturbed.meet(from, float64(disturbed))
}

// meet keeps the larger.
func (w *stretch) meet(window int64, value float64) {
	if value > w.value {
		*w = stretch{window, value}
	}
}

// heard makes all windows so far count.
func (s *score) heard() { s.sure = s.now }

// end takes back the windows that nothing was heard after.
func (s *score) end() { s.now = s.sure }
