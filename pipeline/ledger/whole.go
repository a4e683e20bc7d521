package ledger

// NewWhole makes the chain as one stage from the boundaries at its two ends. The
// loudness change is in LU, over the blocks that pass the gates at the source.
func NewWhole(source, end Boundary, loudnessChange float64) *Whole {
	s := NewStageResult("", "", source, end, loudnessChange, nil)
	return &Whole{
		ChangeDB:         s.ChangeDB,
		LoudnessChangeLU: s.LoudnessChangeLU,
		NetDB:            s.NetDB,
		TrueNetDB:        s.TrueNetDB,
	}
}

// ends are the source and the end of the chain; nothing where neither was read.
func (t *Track) ends() (source, end Boundary) {
	if n := len(t.Boundaries); n > 0 {
		return t.Boundaries[0], t.Boundaries[n-1]
	}
	return source, end
}

// whole is the chain as one stage, of an entry of an earlier version too: that
// took the loudness change from the integrated loudnesses.
func (t *Track) whole() *Whole {
	if t.Whole != nil {
		return t.Whole
	}
	source, end := t.ends()
	w := &Whole{
		ChangeDB:         minus(end.HeadroomDB, source.HeadroomDB),
		LoudnessChangeLU: minus(end.LoudnessLUFS, source.LoudnessLUFS),
	}
	w.NetDB = plus(w.ChangeDB, w.LoudnessChangeLU)
	w.TrueNetDB = minus(w.LoudnessChangeLU, minus(end.TruePeakDBTP, source.TruePeakDBTP))
	return w
}

// trueNet is the stage's net counted from true peaks, of an entry of an earlier
// version too.
func (s StageResult) trueNet() *float64 {
	if s.TrueNetDB != nil {
		return s.TrueNetDB
	}
	return minus(s.LoudnessChangeLU, s.TruePeakChangeDB)
}

// trueHeadroom is the headroom counted from the true peak, of an entry of an
// earlier version too.
func (b Boundary) trueHeadroom() *float64 {
	if b.TrueHeadroomDB != nil {
		return b.TrueHeadroomDB
	}
	return minus(plus(b.HeadroomDB, b.SamplePeakDBFS), b.TruePeakDBTP)
}
