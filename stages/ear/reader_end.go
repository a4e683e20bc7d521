package ear

import "slices"

// End reads what the last window does not fill, with silence after it. Nothing more can be written.
func (r *Reader) End() {
	if r.ended || r.model == nil {
		return
	}
	r.ended = true
	before := r.model.window - r.model.hop // heard in the last window
	if r.window == 0 {
		before = 0
	}
	if r.fill > before {
		for s := range r.signals {
			for c := range r.signals[s] {
				clear(r.signals[s][c].x[r.fill:])
			}
		}
		r.hear()
	}
	for i := range r.scores {
		for c := range r.scores[i] {
			r.scores[i][c].end()
		}
	}
}

// Reading is the reading of a comparison as if the signals ended here. It is not ok where there is none: at a
// rate beyond the highest, and where signal 0 has no five samples on end whose magnitudes add to more than
// 200/32768.
func (r *Reader) Reading(comparison int) (reading Reading, ok bool) {
	if r.model == nil || !r.begun && r.fill == 0 {
		return Reading{}, false
	}
	e := r
	if !r.ended {
		e = r.clone()
		e.End()
	}
	if !e.begun {
		return Reading{}, false
	}
	return r.model.reading(e.scores[comparison], &e.moments[comparison]), true
}

// clone is a reader that has heard the same and calls nobody.
func (r *Reader) clone() *Reader {
	c := *r
	c.o.EachWindow = nil
	c.signals, c.masks, c.scores, c.moments = nil, nil, nil, nil
	for _, channels := range r.signals {
		var copies []signal
		for _, s := range channels {
			// for one more window
			copies = append(copies, signal{x: slices.Clone(s.x), spectrum: NewSpectrum(r.model)})
		}
		c.signals = append(c.signals, copies)
	}
	for _, k := range r.masks {
		c.masks = append(c.masks, k.Clone())
	}
	for _, scores := range r.scores {
		var copies []score
		for _, s := range scores {
			copies = append(copies, s.clone())
		}
		c.scores = append(c.scores, copies)
	}
	for _, m := range r.moments {
		c.moments = append(c.moments, m.clone())
	}
	return &c
}
