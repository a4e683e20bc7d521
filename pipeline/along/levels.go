package along

import (
	"encoding/json"
	"math"
	"strconv"
)

// Levels are levels in dB or LU, rounded to 0.01. NaN is none, as of silence, and null in JSON.
type Levels []float64

// None is a level that does not exist.
var None = math.NaN()

// Add appends a level; one that is not finite is none.
func (l *Levels) Add(db float64) {
	if math.IsInf(db, 0) || math.IsNaN(db) {
		*l = append(*l, None)
		return
	}
	*l = append(*l, math.Round(db*100)/100+0) // no minus zero
}

// MarshalJSON writes them in as few characters as can be.
func (l Levels) MarshalJSON() ([]byte, error) {
	text := []byte{'['}
	for i, x := range l {
		if i > 0 {
			text = append(text, ',')
		}
		if math.IsNaN(x) {
			text = append(text, "null"...)
			continue
		}
		text = strconv.AppendFloat(text, x, 'f', -1, 64)
	}
	return append(text, ']'), nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (l *Levels) UnmarshalJSON(text []byte) error {
	var all []*float64
	if err := json.Unmarshal(text, &all); err != nil {
		return err
	}
	*l = make(Levels, len(all))
	for i, x := range all {
		(*l)[i] = None
		if x != nil {
			(*l)[i] = *x
		}
	}
	return nil
}

// Largest is the largest level, none if there is none.
func (l Levels) Largest() float64 {
	most := None
	for _, x := range l {
		if !(most >= x) && !math.IsNaN(x) {
			most = x
		}
	}
	return most
}
