package trial

import (
	"cmp"
	"slices"
)

// judge says what the answers of a complete session say.
func (r *Result) judge() {
	r.Outcome = []Outcome{}
	switch r.Protocol.Kind {
	case ABX:
		o := Outcome{First: r.Sources[0].Name, Second: r.Sources[1].Name, Of: len(r.Answers)}
		for _, a := range r.Answers {
			if *a.Right {
				o.Count++
			}
		}
		o.P = Tail(o.Count, o.Of)
		r.Outcome = append(r.Outcome, o)
	case Preference:
		for i, s := range r.Sources {
			for _, other := range r.Sources[i+1:] {
				o := Outcome{First: s.Name, Second: other.Name}
				for _, a := range r.Answers {
					if !a.between(s.Name, other.Name) {
						continue
					}
					o.Of++
					if a.Played[a.Choice] == s.Name {
						o.Count++
					}
				}
				o.P = TwoSided(o.Count, o.Of)
				r.Outcome = append(r.Outcome, o)
			}
		}
	case Grades:
		for _, s := range r.Sources {
			if s.Name != r.Protocol.Reference {
				r.Outcome = append(r.Outcome, r.grade(s.Name))
			}
		}
	}
	r.finish()
}

// between says whether two sources were played.
func (a *Answer) between(one, other string) bool {
	var first, second bool
	for _, name := range a.Played {
		first, second = first || name == one, second || name == other
	}
	return first && second
}

// grade is what was said of a source against the hidden reference: the difference grade of ITU-R BS.1116-3 is
// the source's grade minus that of the hidden reference, and negative where an impairment was heard.
func (r *Result) grade(name string) Outcome {
	o := Outcome{First: name, Second: r.Protocol.Reference}
	var differences []float64
	for _, a := range r.Answers {
		if !a.between(name, r.Protocol.Reference) {
			continue
		}
		object, hidden := a.Grades["B"], a.Grades["C"]
		if a.Played["C"] == name {
			object, hidden = hidden, object
		}
		differences = append(differences, object-hidden)
		if object != hidden {
			o.Of++
		}
		if object < hidden {
			o.Count++
		}
	}
	o.P = Tail(o.Count, o.Of)
	mean, half, ok := MeanInterval(differences)
	mean = rounded(mean)
	o.Grade = &mean
	if ok {
		half = rounded(half)
		o.GradeOff = &half
	}
	return o
}

// finish adds intervals and allows for several pairs: S. Holm, "A simple sequentially rejective multiple test
// procedure", Scandinavian Journal of Statistics 6 (1979).
func (r *Result) finish() {
	order := make([]int, len(r.Outcome))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(r.Outcome[a].P, r.Outcome[b].P) })
	least := 0.0
	for rank, i := range order {
		o := &r.Outcome[i]
		least = max(least, min(1, float64(float64(len(order)-rank)*o.P)))
		o.Found = least <= r.Protocol.Alpha
		o.PAll, o.P = rounded(least), rounded(o.P)
		if o.Of > 0 {
			from, to := Interval(o.Count, o.Of)
			o.Share95 = []float64{rounded(from), rounded(to)}
		}
	}
}
