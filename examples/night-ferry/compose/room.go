package main

// room is what comes back from the walls when the bus is played between them:
// eight delays that feed one another through a Hadamard matrix, darker at every
// turn. The sound takes the given seconds to fall by 60 dB, and the first of it
// comes back after a fortieth of a second.
func (b bus) room(seconds float64) bus {
	out := bus{make([]float64, len(b[0])), make([]float64, len(b[1]))}
	walls := newWalls(seconds)
	const first = rate / 40
	for i := first; i < len(out[0]); i++ {
		out[0][i], out[1][i] = walls.next(b[0][i-first], b[1][i-first])
	}
	return out
}

// The delays have no common factor, so that their echoes do not pile up.
var wallFrames = [8]int{1031, 1327, 1523, 1801, 2053, 2311, 2713, 3137}

type walls struct {
	line  [8][]float64
	at    [8]int
	gain  [8]float64 // at each return, also the matrix's scale
	dark  [8]float64 // what the low-pass filter of each remembers
	sound [8]float64
}

func newWalls(seconds float64) *walls {
	w := new(walls)
	for n, length := range wallFrames {
		w.line[n] = make([]float64, length)
		w.gain[n] = linear(-60*float64(length)/float64(seconds*rate)) * 0.35355339059327373 // 1/sqrt 8
	}
	return w
}

// next takes one frame and gives one: the even delays hear and are heard left.
func (w *walls) next(left, right float64) (l, r float64) {
	for n := range w.line {
		w.dark[n] += float64(0.55 * (w.line[n][w.at[n]] - w.dark[n]))
		w.sound[n] = w.dark[n]
	}
	s := &w.sound
	l = 0.5 * (s[0] - s[2] + s[4] - s[6])
	r = 0.5 * (s[1] - s[3] + s[5] - s[7])
	for _, span := range [...]int{1, 2, 4} {
		for n := range s {
			if n&span == 0 {
				s[n], s[n+span] = s[n]+s[n+span], s[n]-s[n+span]
			}
		}
	}
	for n := range w.line {
		in := left
		if n%2 == 1 {
			in = right
		}
		w.line[n][w.at[n]] = in + float64(w.gain[n]*s[n])
		w.at[n] = (w.at[n] + 1) % len(w.line[n])
	}
	return float64(l), float64(r)
}
