package survey

import (
	"math"
	"slices"
)

// A point is a value and how far the figure at it is above its goal, as heights differ.
type point struct{ x, y float64 }

// mostStandIns is how often the stand-in is asked for one goal.
const mostStandIns = 12

// none is less than any height of a figure that there is, less its goal.
const none = lowest / 2

// crossing finds where f crosses 0 between two values by the Illinois method: the secant between the ends of
// a bracket, and an end that stays twice counts with half its height. It ends within that of 0, or when no
// rounded value is left between the ends. It returns the points that it met, the nearest last.
func crossing(f func(x float64) (float64, error), from, to, within float64,
	rounded func(float64) float64) (met []point, err error) {
	at := func(x float64) (point, error) {
		y, err := f(x)
		met = append(met, point{x, y})
		return point{x, y}, err
	}
	a, err := at(from)
	if err != nil {
		return nil, err
	}
	b, err := at(to)
	if err != nil {
		return nil, err
	}
	between := (a.y < 0) != (b.y < 0)
	for side := 0; between && len(met) < mostStandIns; {
		x := rounded(inside(a, b))
		if x == a.x || x == b.x {
			break
		}
		c, err := at(x)
		if err != nil {
			return nil, err
		}
		if math.Abs(c.y) <= within {
			break
		}
		if (c.y < 0) == (a.y < 0) {
			if a = c; side < 0 {
				b.y /= 2
			}
			side = -1
		} else {
			if b = c; side > 0 {
				a.y /= 2
			}
			side = 1
		}
	}
	return nearestLast(met), nil
}

// inside is where the secant crosses 0, well within the bracket. From an end where there is no figure it is
// the middle.
func inside(a, b point) float64 {
	if a.y < none || b.y < none {
		return (a.x + b.x) / 2
	}
	x := a.x - float64(a.y*(b.x-a.x))/(b.y-a.y)
	least := float64(0.02 * (b.x - a.x))
	return min(max(x, a.x+least), b.x-least)
}

// nearestLast puts the point nearest to 0 last, of several the latest, which is nearest to where they cross
// it.
func nearestLast(met []point) []point {
	best := 0
	for i, p := range met {
		if math.Abs(p.y) <= math.Abs(met[best].y) {
			best = i
		}
	}
	last := len(met) - 1
	met[best], met[last] = met[last], met[best]
	return met
}

// slopeAt is how steeply a figure rises at the last of some points, from the nearest at which it is another
// by more than a tolerance; 0: it is not known.
func slopeAt(met []point, tolerance float64) (slope float64) {
	last := met[len(met)-1]
	nearest := math.Inf(1)
	for _, p := range met {
		d := math.Abs(p.x - last.x)
		if d < nearest && math.Abs(p.y-last.y) > tolerance && p.y > none && last.y > none {
			nearest, slope = d, (p.y-last.y)/(p.x-last.x)
		}
	}
	return slope
}

// secant asks f at a value, and then where the secant crosses 0: of the two points nearest to each other that
// have 0 between them, or from the last one with the slope. It ends within that of 0. Known are points of f.
func secant(f func(x float64) (float64, error), known []point, rounded func(float64) float64,
	x, slope, within float64) error {
	for range mostRuns {
		y, err := f(x)
		if err != nil {
			return err
		}
		known = append(known, point{x, y})
		if math.Abs(y) <= within {
			break
		}
		next := x
		if a, b, ok := around(known); ok {
			next = rounded(inside(a, b))
		} else if slope != 0 {
			next = rounded(x - y/slope)
		}
		if isKnown(known, next) {
			break
		}
		x = next
	}
	return nil
}

// mostHalvings is how often a bracket is halved: from 40 apart to a hundredth.
const mostHalvings = 12

// closeIn does what the secant could not, where a figure goes in steps, as that of a short track does. It
// asks f at the end beyond 0, if no known point is there, and halves what is around 0 until it is within that
// of 0 or no rounded value is left.
func closeIn(f func(x float64) (float64, error), known []point, rounded func(float64) float64,
	shallow, deep, within float64) error {
	near := func(p point) bool { return math.Abs(p.y) <= within }
	ask := func(x float64) error {
		y, err := f(x)
		known = append(known, point{x, y})
		return err
	}
	if slices.ContainsFunc(known, near) {
		return nil
	}
	if _, _, ok := around(known); !ok {
		end := shallow
		if known[0].y <= 0 {
			end = deep
		}
		if isKnown(known, end) {
			return nil
		}
		if err := ask(end); err != nil {
			return err
		}
	}
	for range mostHalvings {
		a, b, ok := around(known)
		x := rounded((a.x + b.x) / 2)
		if !ok || isKnown(known, x) || near(known[len(known)-1]) {
			break
		}
		if err := ask(x); err != nil {
			return err
		}
	}
	return nil
}

func isKnown(points []point, x float64) bool {
	return slices.ContainsFunc(points, func(p point) bool { return p.x == x })
}

// around are the two points nearest to each other that have 0 between them, by value.
func around(known []point) (a, b point, ok bool) {
	for _, p := range known {
		for _, q := range known {
			if p.x < q.x && (p.y <= 0) != (q.y <= 0) && (!ok || q.x-p.x < b.x-a.x) {
				a, b, ok = p, q, true
			}
		}
	}
	return a, b, ok
}
