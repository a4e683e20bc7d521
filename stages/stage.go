package stages

import (
	"math"

	"ledgerline/stages/portable"
)

// Format is what a stage must know of the signal it will be fed.
type Format struct {
	Rate     int    // frames a second, 8000 to 384000, of what it is fed
	Channels int    // 1 or more
	Seed     uint64 // told apart from track to track; only dither reads it
	// AimLowerDB is how far below its ceiling, in dB, a ceiling_hold is to aim, so that what
	// comes after it keeps the ceiling too; 0 or more. Only the hold's method
	// band_limited reads it.
	AimLowerDB float64
	// LevelDBSPL is the playback level of a sine at full scale, 0 = ear.LevelDBSPL. Only masked_clip reads it.
	LevelDBSPL float64
	// Ends are the first frames after each track, where the signal is several that run into each
	// other; none: it is one. They change nothing in what comes out, and only tell a
	// Teller's effects apart.
	Ends []int64
}

// A Stage is one step of a chain at work on one track. It is not safe for use
// by several goroutines at once, and it is used for one track only.
//
// Over the whole track as many frames come out as went in, or, of a stage whose kind has another
// Rate, FramesAt of them: frame n at a rate is the moment n/rate. The block lengths a caller chooses
// change nothing in what comes out.
type Stage interface {
	// Process reads in, which it neither changes nor keeps, and appends the
	// frames that are finished to dst. dst and in share no memory. A frame may
	// be held back until a later call or Flush.
	Process(dst, in Block) Block

	// Flush appends the frames still held back. Nothing may follow it but Effect.
	Flush(dst Block) Block

	// Effect is what the stage has done to the frames it has handed on.
	Effect() Effect
}

// Linear is the magnitude of a level in dB: 10^(db/20). 0 dB is exactly 1.
func Linear(db float64) float64 { return portable.Exp10(db / 20) }

// DB is the level of a magnitude: 20 log10(|x|), -Inf for 0.
func DB(x float64) float64 { return float64(20 * portable.Log10(math.Abs(x))) }
