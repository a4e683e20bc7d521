// Package trial is blind listening: what is asked in which order, the answers, what they say, and the record
// of them in a file.
//
// There are three kinds. In "abx" X is A or B, and the listener says which: right answers tell whether a
// difference is heard at all. In "preference" two are heard, and one is preferred. In "grades" two are graded
// against a reference that is heard openly, on the five-grade scale of impairment of ITU-R BS.1116-3; one of
// the two is the reference itself, hidden.
//
// The number of trials is fixed before the first: whoever looks after every answer and stops when it suits
// finds a difference far too often. The order comes from a generator here. What is played under which
// letter is told only at the end, and an answer counts for the trial in progress and no other.
package trial

import "time"

// Kind is a way to ask.
type Kind string

// The kinds.
const (
	ABX        Kind = "abx"
	Preference Kind = "preference"
	Grades     Kind = "grades"
)

// Schema is the version of the record's form.
const Schema = 1

// Result is the record of a session: one listener, one track, one kind of trial.
type Result struct {
	Schema int       `json:"schema"` // Schema, when it was written
	Tool   string    `json:"tool"`   // name and version of what played it
	Title  string    `json:"title"`  // of the release
	Track  string    `json:"track"`
	Began  time.Time `json:"began"` // UTC
	Ended  time.Time `json:"ended"`
	// all trials were answered; false: it was stopped, and says nothing
	Complete bool      `json:"complete"`
	Stopped  string    `json:"stopped,omitempty"` // why, where it was not the listener who stopped it
	Sources  []Source  `json:"sources"`           // what was compared
	Protocol Protocol  `json:"protocol"`
	Answers  []Answer  `json:"answers"`  // in the order of the trials
	Outcome  []Outcome `json:"outcomes"` // missing in a session that was stopped

	File string `json:"-"` // its own name, once it is written or read
}

// What a source is.
const (
	Mix      = "mix"
	Master   = "master"
	Delivery = "delivery"
)

// Source is one of the files that were compared, and how it was played.
type Source struct {
	Name     string `json:"name"`               // as the page names it
	Is       string `json:"is"`                 // mix, master or delivery
	Variant  string `json:"variant,omitempty"`  // of a master; empty: the release's own chain
	Delivery string `json:"delivery,omitempty"` // of a delivery
	// of a delivery that was heard as it comes back from a coder: the coder's name
	Through string `json:"through,omitempty"`
	File    string `json:"file"`   // relative to the release file, with slashes
	SHA256  string `json:"sha256"` // of the whole file, in hexadecimal
	// its rate, where it was converted to be heard; missing: it was not
	FileHz       int     `json:"file_hz,omitempty"`
	LoudnessLUFS float64 `json:"loudness_lufs"` // integrated, of the whole file
	GainDB       float64 `json:"gain_db"`       // it was played at: 0 or less
	// integrated loudness as it was played, read from what was played
	MatchedLUFS float64 `json:"matched_lufs"`
}

// Protocol is what was fixed before the first trial.
type Protocol struct {
	Kind      Kind    `json:"kind"`
	Trials    int     `json:"trials"`              // abx: all; else of each pair or of each graded source
	Reference string  `json:"reference,omitempty"` // grades: the source that the others are held against
	Alpha     float64 `json:"alpha"`               // see Alpha
	Needed    int     `json:"needed,omitempty"`    // abx: right answers; see Needed
	PowerAt   float64 `json:"power_at,omitempty"`  // abx: SupposedRight
	Power     float64 `json:"power,omitempty"`     // abx: see Power
	RateHz    int     `json:"rate_hz"`             // of the files
	// at which the browser played, as it says; missing: it did not
	ContextHz int `json:"context_hz,omitempty"`
}

// Answer is what was said in one trial.
type Answer struct {
	Trial    int                `json:"trial"`  // from 1
	Played   map[string]string  `json:"played"` // the source under each letter
	Choice   string             `json:"choice,omitempty"`
	Right    *bool              `json:"right,omitempty"`     // abx
	Grades   map[string]float64 `json:"grades,omitempty"`    // by letter: 1.0 to 5.0
	FromS    float64            `json:"from_s"`              // the region that was set, seconds
	ToS      float64            `json:"to_s"`                // 0: none, the whole track
	VolumeDB *float64           `json:"volume_db,omitempty"` // as the browser says it, at the answer
	AfterS   float64            `json:"after_s"`             // from the session's start
}

// Outcome is what the answers say of two sources.
type Outcome struct {
	First  string `json:"first"`  // abx, preference: a source; grades: the one that was graded
	Second string `json:"second"` // the other; grades: the reference

	// abx: answers that are right; preference: for the first; grades: in which the hidden reference was graded
	// above the other, of those in which the two had different grades.
	Count   int       `json:"count"`
	Of      int       `json:"of"`
	Share95 []float64 `json:"share_95,omitempty"` // the interval of the share; missing: Of is 0
	P       float64   `json:"p"`                  // by guessing; preference: to either side
	// the same, allowing for the number of pairs (Holm); of one pair, P
	PAll  float64  `json:"p_all"`
	Found bool     `json:"found"` // PAll is Alpha or less
	Grade *float64 `json:"difference_grade,omitempty"`
	// half the width of the mean's interval; missing: fewer than two trials
	GradeOff *float64 `json:"difference_grade_95,omitempty"`
}
