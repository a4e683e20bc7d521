// Package ledger is the record of what each stage of a release's chain gained
// or lost: its JSON form, its comparison and its printing.
//
// Every figure is rounded once, when the record is made: levels and loudness to
// 1e-4 (dB or LU), times to 1e-6 s (a sample at 384 kHz lasts 2.6e-6 s), DC to
// 1e-7 of full scale. A figure that is the difference of two others (headroom,
// crest factor, peak to loudness, change, net) is taken from the rounded ones,
// so that a reader who subtracts finds what is printed. A level or a loudness
// that does not exist (silence, too little signal) is null; there is no minus
// zero. Times are seconds from the start of the track; channels count from 1;
// tracks are in the order of their names, then of their variants, then of their deliveries, and every
// key has its own line, so that two ledgers compare line by line.
package ledger

import (
	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// Schema is the version of the record's form. A ledger of a later schema is
// refused; an earlier one is read.
const Schema = 2

// Ledger is the record of a release.
type Ledger struct {
	Schema      int     `json:"schema"`       // Schema, when it was written
	Tool        string  `json:"tool"`         // name and version of what rendered it: "ledgerline 0.1.0"
	Title       string  `json:"title"`        // as in the release file
	CeilingDBFS float64 `json:"ceiling_dbfs"` // headroom counts down from here
	// of the release file's meaning: comments and layout do not change it
	ReleaseSHA256 string   `json:"release_sha256"`
	Order         []string `json:"order,omitempty"` // all tracks as they follow each other; missing: by name
	// silence after each of them but the last; missing: none is said
	GapsS []float64 `json:"gaps_s,omitempty"`
	// the texts that go out with deliveries, relative to the ledger, with slashes; missing: none
	Papers []string `json:"papers,omitempty"`
	Tracks []Track  `json:"tracks"` // by name, then variant, then delivery
	Totals Totals   `json:"totals"` // filled by Sum
}

// Track is one mix and what was rendered from it by one variant of the chain, or by a delivery that
// continues it.
type Track struct {
	Name    string `json:"name"`              // the mix's file name without extension
	Variant string `json:"variant,omitempty"` // empty: the release's own chain
	// the delivery that continues that chain; empty: it is the variant's own render
	Delivery string `json:"delivery,omitempty"`
	// the tracks that run into each other, this one among them, in their order; missing: it is by itself
	Continuous []Joined     `json:"continuous,omitempty"`
	Source     Source       `json:"source"`     // the mix
	Output     Output       `json:"output"`     // the master
	Chain      []stages.Use `json:"chain"`      // the stages in order, every setting filled in
	Boundaries []Boundary   `json:"boundaries"` // boundary 0 is the source, k is after stage k
	// stage k-1 here is between boundaries k-1 and k
	Stages []StageResult `json:"stages"`
	// the chain as one stage; missing: written by an earlier version
	Whole *Whole `json:"whole,omitempty"`
	// of the file, where that is not what passed the last boundary: it is cut or filled up to whole frames of a
	// disc
	AsWritten    *Boundary     `json:"as_written,omitempty"`
	Requirements []Requirement `json:"requirements,omitempty"` // of the measure stages, in the chain's order
	// what came back of a delivery from its coders, in the release file's order; missing: not checked
	Coders  []Coded `json:"coders,omitempty"`
	Removed *Extra  `json:"removed,omitempty"` // what the chain removed; missing: not written
	// the master at the loudness of the track's quietest variant; missing: not written
	Matched *Extra          `json:"matched,omitempty"`
	Tags    *audiofile.Tags `json:"tags,omitempty"` // that the master has; missing: none
	// "keep": those of the mix were carried over; missing: they were not
	Chunks string `json:"chunks,omitempty"`
	// of its line in the record along the tracks, the file beside the ledger; missing: it has none
	Along string `json:"along_sha256,omitempty"`
	// of all that decides this entry beside the mix: the chain, the output's form, the version of rendering
	Recipe string `json:"recipe_sha256,omitempty"`
}

// Joined is a track of a group that was rendered as one stream.
type Joined struct {
	Track  string `json:"track"`
	SHA256 string `json:"sha256"` // of its mix, in hexadecimal
}

// Source is the mix a track was rendered from.
type Source struct {
	File      string  `json:"file"`       // relative to the release file, with slashes
	SHA256    string  `json:"sha256"`     // of the whole file, in hexadecimal
	Encoding  string  `json:"encoding"`   // pcm8 pcm16 pcm24 pcm32 float32 float64
	RateHz    int     `json:"rate_hz"`    // frames a second
	Channels  int     `json:"channels"`   // 1 or more
	Frames    int64   `json:"frames"`     // samples of one channel
	DurationS float64 `json:"duration_s"` // frames over rate, as Seconds rounds it
}

// Output is the file a track was rendered to.
type Output struct {
	File           string `json:"file"`            // relative to the ledger, with slashes
	SHA256         string `json:"sha256"`          // of the whole file, in hexadecimal
	Encoding       string `json:"encoding"`        // pcm16 pcm24 pcm32 float32 float64
	LimitedSamples int64  `json:"limited_samples"` // brought within full scale on writing
	// samples of one channel; missing: none, or written by an earlier version
	Frames       int64 `json:"frames,omitempty"`
	DiscFrames   bool  `json:"disc_frames,omitempty"`   // it has whole frames of a disc, 588 samples each
	PaddedFrames int64 `json:"padded_frames,omitempty"` // of silence at its end, for the last of them
	// of the track before that it begins with: the two run into each other, and are cut at a whole frame of a
	// disc
	LeadFrames int64 `json:"lead_frames,omitempty"`
}

// Extra is a file that goes with a track's output.
type Extra struct {
	File   string `json:"file"`   // relative to the ledger, with slashes
	SHA256 string `json:"sha256"` // of the whole file, in hexadecimal
	// that the output was copied at, or that the mix was taken at to be compared with the output
	GainDB float64 `json:"gain_db"`
}

// Boundary is a reading: the figures of the signal at one boundary. Samples
// that are not finite are counted and left out of every figure.
type Boundary struct {
	// 0 is the source, k is after stage k
	Boundary int `json:"boundary"`
	// the stage before it; "source" at boundary 0
	Stage string `json:"stage"`
	// frames a second there; missing: written by an earlier version, the source's
	RateHz            int      `json:"rate_hz,omitempty"`
	SamplePeakDBFS    *float64 `json:"sample_peak_dbfs"`    // null: silence
	SamplePeakTimeS   *float64 `json:"sample_peak_time_s"`  // where it is first
	SamplePeakChannel int      `json:"sample_peak_channel"` // 0: silence
	// never below the sample peak; null: silence
	TruePeakDBTP *float64 `json:"true_peak_dbtp"`
	// integrated, both gates; null: nothing passes them
	LoudnessLUFS     *float64 `json:"loudness_lufs"`
	LoudnessRangeLU  *float64 `json:"loudness_range_lu"`   // null: no 3 s pass the gates
	MomentaryMaxLUFS *float64 `json:"momentary_max_lufs"`  // the largest over 400 ms
	ShortTermMaxLUFS *float64 `json:"short_term_max_lufs"` // the largest over 3 s
	// of all channels together; a full-scale square reads 0, a full-scale sine -3.01
	RMSDBFS       *float64 `json:"rms_dbfs"`
	CrestFactorDB *float64 `json:"crest_factor_db"` // sample peak minus RMS
	// true peak minus integrated loudness
	PeakToLoudnessLU *float64 `json:"peak_to_loudness_lu"`
	// mean of each channel, full scale = 1
	DCOffset            []float64 `json:"dc_offset"`
	NonFiniteSamples    int64     `json:"nonfinite_samples"`                // NaN or infinite
	FirstNonFiniteTimeS *float64  `json:"first_nonfinite_time_s,omitempty"` // missing: none
	// the release's ceiling minus the sample peak; null: silence
	HeadroomDB     *float64 `json:"headroom_db"`
	TrueHeadroomDB *float64 `json:"true_headroom_db"` // the release's ceiling minus the true peak; null: silence
}

// StageResult is what one stage did to the headroom. A difference is null where
// one of its two sides is.
type StageResult struct {
	Stage            string   `json:"stage"`              // its name
	Kind             string   `json:"kind"`               // its kind
	HeadroomBeforeDB *float64 `json:"headroom_before_db"` // of the boundary before
	HeadroomAfterDB  *float64 `json:"headroom_after_db"`  // of the boundary after
	// after minus before: positive = gained, negative = lost
	ChangeDB *float64 `json:"change_db"`
	// after minus before, over the blocks that pass the gates before the stage
	LoudnessChangeLU *float64 `json:"loudness_change_lu"`
	// change plus loudness change: headroom bought at equal loudness
	NetDB            *float64 `json:"net_db"`
	TruePeakChangeDB *float64 `json:"true_peak_change_db"`
	// loudness change minus true peak change: the same counted from true peaks
	TrueNetDB *float64 `json:"true_net_db"`
	// of a stage that cuts; missing: not measured, silence, a rate above 200 kHz
	Audibility *Audibility `json:"audibility,omitempty"`
	// of a stage that has a ceiling, of a measure, and of a dither that clamped at full scale
	Ceiling *Ceiling `json:"ceiling,omitempty"`
}

// Ceiling is how a ceiling was kept and what keeping it cost. A measure keeps
// none: it only counts what is over the ceiling in force there, that of
// the last stage before it that has one, or else the release's.
type Ceiling struct {
	CeilingDBFS float64 `json:"ceiling_dbfs"` // the level samples were not to pass
	Overs       int64   `json:"overs"`        // samples that pass it after the stage
	// how far the furthest is over it; 0: none, or less than the rounding
	LargestOverDB  float64 `json:"largest_over_db"`
	Worst          []Over  `json:"worst,omitempty"` // at most ten, furthest first
	TouchedSamples int64   `json:"touched_samples"` // whose value the stage changed
	// the most that one sample beyond the ceiling was lowered; 0: none; null: to silence
	DeepestCutDB *float64 `json:"deepest_cut_db"`
	// ceiling_hold: left to the last clamp; dither: lowered by more than four codes
	ClampedSamples int64 `json:"clamped_samples"`
	// of linked channels: how much more was removed than without the link; missing: not linked, or nothing over
	LinkMoreDB *float64 `json:"link_more_db,omitempty"`
	*Cutting            // nil, and none of its keys: a measure, which cuts nothing
}

// Cutting is what one stage or the whole chain removed. The driven input is what came in;
// for the whole chain it is the mix times the gain that the chain's gain stages declare,
// compared with the signal before the dither and the measures at the chain's end, or after a
// dither that had to clip. For a dither with a ceiling it is what the limit removed; its
// places are not known.
type Cutting struct {
	// level of what was removed, relative to the driven input; null: nothing
	RemovedDB *float64 `json:"removed_db"`
	// where the most was removed in 400 ms; missing: nothing
	RemovedWorst400ms *Window `json:"removed_worst_400ms,omitempty"`
	RemovedWorst3s    *Window `json:"removed_worst_3s,omitempty"` // in 3 s
	// of the driven input, all channels, beyond the ceiling; of the whole chain, beyond its lowest
	ClippedSamples int64   `json:"clipped_samples"`
	ClippedPercent float64 `json:"clipped_percent"`        // share of all samples
	DeepestCuts    []Cut   `json:"deepest_cuts,omitempty"` // at most ten, deepest first, no two within 50 ms
}

// Window is the stretch of its length in which most energy was removed, all channels
// together. Windows begin every 10 ms; for a shorter track it is the whole track.
type Window struct {
	TimeS float64 `json:"time_s"` // where it begins
	// level of what was removed in it, relative to the driven input there; null: that is silent
	DB *float64 `json:"db"`
}

// Cut is one sample that was lowered.
type Cut struct {
	TimeS   float64  `json:"time_s"`  // from the start of the track
	Channel int      `json:"channel"` // from 1
	CutDB   *float64 `json:"cut_db"`  // by how much; null: to silence
}

// Whole is the chain taken as one stage, from the source to the last boundary.
// Its loudness change is over the blocks that pass the gates at the source, so
// that the nets of the stages need not add up to its own.
type Whole struct {
	ChangeDB         *float64 `json:"change_db"`          // of the headroom: positive = gained, negative = lost
	LoudnessChangeLU *float64 `json:"loudness_change_lu"` // over the source's gated blocks
	NetDB            *float64 `json:"net_db"`             // change plus loudness change
	TrueNetDB        *float64 `json:"true_net_db"`        // the same counted from true peaks
	Cutting
	// missing: not measured, no stage that cuts, silence, a rate above 200 kHz
	Audibility *Audibility `json:"audibility,omitempty"`
	// at the chain's end, as the filter of ITU-R BS.1770-5, Annex 2, reads it; null: silence, or not read
	TruePeakBS1770DBTP *float64 `json:"true_peak_bs1770_dbtp"`
	// as a windowed sinc of 49 taps reads it; null: the same
	TruePeakSinc49DBTP *float64 `json:"true_peak_sinc49_dbtp"`
	// by how much the hold's aim was lowered so that what is read keeps the ceiling; 0: it was not
	AimLoweredDB float64 `json:"aim_lowered_db"`
}

// Over is one sample beyond a ceiling.
type Over struct {
	TimeS   float64 `json:"time_s"`  // from the start of the track
	Channel int     `json:"channel"` // from 1
	OverDB  float64 `json:"over_db"` // how far beyond the ceiling
}

// Requirement is one requirement of a measure stage and how it fared. It is
// judged on the figures as they are in the ledger.
type Requirement struct {
	Stage  string  `json:"stage"`  // the measure stage
	Key    string  `json:"key"`    // as in the release file: sample_peak_max_dbfs, ...
	Wanted float64 `json:"wanted"` // in the unit of the key, rounded as every figure
	// null: the figure does not exist, which fails a least loudness and passes the others
	Found  *float64 `json:"found"`
	Passed bool     `json:"passed"`
}

// Totals are the release's sums.
type Totals struct {
	// mixes: one rendered by several variants counts once
	Tracks    int     `json:"tracks"`
	DurationS float64 `json:"duration_s"` // of the mixes, each counted once
	// left at the last ceiling of each track's chain, over all variants
	Overs int64 `json:"overs"`
	// tracks, each variant counted, whose true peak at the end passes that ceiling; without one in the chain,
	// the release's
	TrueOvers          int   `json:"true_overs"`
	LimitedSamples     int64 `json:"limited_samples"`     // over all variants
	NonFiniteSamples   int64 `json:"nonfinite_samples"`   // of each track the boundary with the most
	RequirementsFailed int   `json:"requirements_failed"` // over all variants
}
