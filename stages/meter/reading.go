package meter

// Reading is what a meter has found so far. Magnitudes are linear, 1 = full
// scale; loudness is in LUFS or LU, -Inf where there is too little signal
// to say. Frames count from 0; a channel counts from 0; -1 = there is none.
//
// Every figure is finite but for loudness as said, whatever the samples: one
// that is NaN or infinite counts as 0 everywhere but among the non-finite, and
// a magnitude beyond 1e100 as 1e100.
type Reading struct {
	Frames int64

	SamplePeak  float64 // the largest magnitude of a finite sample
	PeakFrame   int64   // where it is first
	PeakChannel int
	TruePeak    float64 // within 0.002 dB for content up to 21/44.1 of the rate; never below SamplePeak

	Integrated   float64 // LUFS, ITU-R BS.1770-5 with both gates
	Range        float64 // LU, EBU Tech 3342: of 3 s or more
	MaxMomentary float64 // LUFS, 400 ms, EBU Tech 3341, sought every 10 ms
	MaxShortTerm float64 // LUFS, 3 s, likewise

	SumSquares float64   // of all samples of all channels
	RMS        float64   // over all samples of all channels; a full-scale square reads 1
	DC         []float64 // the mean of each channel

	NonFinite        int64 // samples that are NaN or infinite
	FirstNonFinite   int64 // frame of the first
	NonFiniteChannel int

	Overs      int64  // samples beyond the ceiling the meter was given
	WorstOvers []Over // the ten furthest beyond it, furthest first, then earliest first
}

// Over is one sample beyond a ceiling.
type Over struct {
	Frame   int64
	Channel int
	Value   float64 // the sample, with its sign
}
