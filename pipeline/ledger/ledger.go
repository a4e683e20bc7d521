// Package ledger is the record of what each stage of a release's chain gained
// or lost: its JSON form, its comparison and its printing.
//
// Every figure is rounded once, to 1e-4, when the record is made. A level or a
// loudness that does not exist (silence) is null. Times are seconds from the
// start of the track; channels count from 1; tracks stand in the order of their
// names, so that two ledgers compare line by line.
package ledger

// Schema is the version of the record's form. A ledger of a later schema is refused.
const Schema = 1

// Ledger is the record of a release.
type Ledger struct {
	Schema        int     `json:"schema"`
	Tool          string  `json:"tool"` // "ledgerline 0.1.0"
	Title         string  `json:"title"`
	CeilingDBFS   float64 `json:"ceiling_dbfs"`   // headroom counts down from here
	ReleaseSHA256 string  `json:"release_sha256"` // of the release file's meaning: comments and layout do not change it
	Tracks        []Track `json:"tracks"`
	Totals        Totals  `json:"totals"`
}

// Track is one mix and what was rendered from it by one variant of the chain.
type Track struct {
	Name         string        `json:"name"`              // the mix's file name without extension
	Variant      string        `json:"variant,omitempty"` // empty: the release's own chain
	Source       Source        `json:"source"`
	Output       Output        `json:"output"`
	Chain        []StageUsed   `json:"chain"`
	Boundaries   []Boundary    `json:"boundaries"` // boundary 0 is the source, k is after stage k
	Stages       []StageResult `json:"stages"`     // stage k-1 here stands between boundaries k-1 and k
	Requirements []Requirement `json:"requirements,omitempty"`
}

// Source is the mix a track was rendered from.
type Source struct {
	File      string  `json:"file"` // relative to the release file, with slashes
	SHA256    string  `json:"sha256"`
	Encoding  string  `json:"encoding"` // pcm8 pcm16 pcm24 pcm32 float32 float64
	RateHz    int     `json:"rate_hz"`
	Channels  int     `json:"channels"`
	Frames    int64   `json:"frames"`
	DurationS float64 `json:"duration_s"`
}

// Output is the file a track was rendered to.
type Output struct {
	File           string `json:"file"` // relative to the ledger, with slashes
	SHA256         string `json:"sha256"`
	Encoding       string `json:"encoding"`
	LimitedSamples int64  `json:"limited_samples"` // brought within full scale on writing
}

// StageUsed is a stage as it was used: every setting, defaults filled in.
type StageUsed struct {
	Name     string         `json:"name"`
	Kind     string         `json:"kind"`
	Settings map[string]any `json:"settings"`
}

// Boundary is a reading: the figures of the signal at one boundary.
type Boundary struct {
	Boundary            int       `json:"boundary"`
	Stage               string    `json:"stage"` // the stage before it; "source" at boundary 0
	SamplePeakDBFS      *float64  `json:"sample_peak_dbfs"`
	SamplePeakTimeS     *float64  `json:"sample_peak_time_s"`
	SamplePeakChannel   int       `json:"sample_peak_channel"` // 0: silence
	TruePeakDBTP        *float64  `json:"true_peak_dbtp"`
	LoudnessLUFS        *float64  `json:"loudness_lufs"`
	LoudnessRangeLU     float64   `json:"loudness_range_lu"`
	MomentaryMaxLUFS    *float64  `json:"momentary_max_lufs"`
	ShortTermMaxLUFS    *float64  `json:"short_term_max_lufs"`
	RMSDBFS             *float64  `json:"rms_dbfs"` // a full-scale square reads 0, a full-scale sine -3.01
	CrestFactorDB       *float64  `json:"crest_factor_db"`
	PeakToLoudnessLU    *float64  `json:"peak_to_loudness_lu"` // true peak minus integrated loudness
	DCOffset            []float64 `json:"dc_offset"`           // mean of each channel, full scale = 1; rounded to 1e-7
	NonFiniteSamples    int64     `json:"nonfinite_samples"`
	FirstNonFiniteTimeS *float64  `json:"first_nonfinite_time_s,omitempty"`
	HeadroomDB          *float64  `json:"headroom_db"` // the release's ceiling minus the sample peak
}

// StageResult is what one stage did to the headroom.
type StageResult struct {
	Stage            string   `json:"stage"`
	Kind             string   `json:"kind"`
	HeadroomBeforeDB *float64 `json:"headroom_before_db"`
	HeadroomAfterDB  *float64 `json:"headroom_after_db"`
	ChangeDB         *float64 `json:"change_db"` // after minus before: positive = gained
	LoudnessChangeLU *float64 `json:"loudness_change_lu"`
	NetDB            *float64 `json:"net_db"` // change plus loudness change: headroom at equal loudness
	TruePeakChangeDB *float64 `json:"true_peak_change_db"`
	Ceiling          *Ceiling `json:"ceiling,omitempty"` // of a stage that has a ceiling, and of a measure
}

// Ceiling is how a ceiling was kept and what keeping it cost.
type Ceiling struct {
	CeilingDBFS    float64  `json:"ceiling_dbfs"`
	Overs          int64    `json:"overs"`
	LargestOverDB  float64  `json:"largest_over_db"` // 0: none
	Worst          []Over   `json:"worst,omitempty"` // at most ten, furthest first
	TouchedSamples int64    `json:"touched_samples"`
	DeepestCutDB   float64  `json:"deepest_cut_db"`
	ClampedSamples int64    `json:"clamped_samples"` // ceiling_hold: left over for the last clamp
	RemovedDB      *float64 `json:"removed_db"`      // level of what was removed, relative to what came in; null: nothing
}

// Over is one sample beyond a ceiling.
type Over struct {
	TimeS   float64 `json:"time_s"`
	Channel int     `json:"channel"`
	OverDB  float64 `json:"over_db"`
}

// Requirement is one requirement of a measure stage and how it fared. It is
// judged on the figures as they stand in the ledger.
type Requirement struct {
	Stage  string   `json:"stage"`
	Key    string   `json:"key"` // as in the release file: sample_peak_max_dbfs, ...
	Wanted float64  `json:"wanted"`
	Found  *float64 `json:"found"` // null: the figure does not exist, which fails a least loudness and passes the others
	Passed bool     `json:"passed"`
}

// Totals are the release's sums.
type Totals struct {
	Tracks             int     `json:"tracks"`
	DurationS          float64 `json:"duration_s"`
	Overs              int64   `json:"overs"`
	LimitedSamples     int64   `json:"limited_samples"`
	NonFiniteSamples   int64   `json:"nonfinite_samples"`
	RequirementsFailed int     `json:"requirements_failed"`
}
