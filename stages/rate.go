package stages

import "fmt"

// mostTerm is the largest term of a ratio of two rates that a stage changes by. A filter has so many phases.
const mostTerm = 2000

// Ratio is the ratio of two rates in Hz as whole numbers without a common divisor: up frames at the rate to
// last as long as down frames at the rate from. It fails where one of them is above 2,000.
func Ratio(from, to int) (up, down int, err error) {
	d := divisor(from, to)
	if up, down = to/d, from/d; max(up, down) > mostTerm {
		return 0, 0, fmt.Errorf("%d Hz cannot become %d Hz: their ratio in whole numbers is %d to %d, and neither "+
			"may be above %d; want a rate_hz in a simpler ratio to the rate before it, such as 44100, 48000 or "+
			"96000", from, to, down, up, mostTerm)
	}
	return up, down, nil
}

func divisor(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// FramesAt is how many frames a signal of so many at one rate in Hz has at another: those whose moment,
// n/rate after that of frame 0, is before the moment at which the signal's next frame would be.
func FramesAt(frames int64, from, to int) int64 {
	d := divisor(from, to)
	up, down := int64(to/d), int64(from/d)
	return (frames*up + down - 1) / down
}

// RateAfter is the rate in Hz of what the stage hands on, where it is fed frames at the given one.
func (u Use) RateAfter(rate int) int {
	if f := u.Of().Rate; f != nil {
		return f(u.Settings)
	}
	return rate
}

// ChangesRate says whether the stage is one that may change the rate.
func (u Use) ChangesRate() bool { return u.Of().Rate != nil }

// Told is between which boundaries what a whole chain removes is told: from after the gains and changes of
// rate that it begins with, to before the stages at its end that only round or read. It is not ok where the
// rate may change in between: frames at two rates cannot be compared.
func Told(chain []Use) (from, to int, ok bool) {
	to = len(chain)
	for to > 0 && chain[to-1].Passes() {
		to--
	}
	for from < to && (chain[from].Of().Multiplies != nil || chain[from].ChangesRate()) {
		from++
	}
	for _, use := range chain[from:to] {
		if use.ChangesRate() {
			return from, to, false
		}
	}
	return from, to, true
}

// Passes says whether the stage only reads or rounds: the programme is made before it.
func (u Use) Passes() bool { return u.Of().Reads || u.Of().Rounds != nil }
