package pipeline

import (
	"context"
	"fmt"
	"math"
	"slices"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// takeThrough takes the file of a delivery, whose hash and entry are given, through a coder.
func (e *engine) takeThrough(ctx context.Context, x release.Coder, entry *ledger.Track,
	file, sha string) (*ledger.Coded, error) {
	f, err := e.bench.Run(ctx, file, x)
	if err != nil {
		return nil, err
	}
	if f.SHA256 != sha {
		return nil, fmt.Errorf("%q is not what the ledger records: render it first", file)
	}
	coded := &ledger.Coded{
		Coder: x.Name, Encode: x.Encode, Decode: x.Decode, Versions: f.Versions, DelayFrames: f.DelayFrames,
		SamplePeakDBFS: ledger.Level(stages.DB(f.SamplePeak)), TruePeakDBTP: ledger.Level(stages.DB(f.TruePeak)),
		SamplePeakChannel: f.SampleChannel + 1, TruePeakChannel: f.TrueChannel + 1,
	}
	if f.SampleFrame >= 0 {
		coded.SamplePeakTimeS = seconds(float64(f.SampleFrame), f.RateHz)
	}
	if f.TrueFrame >= 0 {
		coded.TruePeakTimeS = seconds(f.TrueFrame, f.RateHz)
	}
	coded.Grown(entry.Boundaries[len(entry.Boundaries)-1])
	coded.Require(x.TruePeakMaxDBTP)
	return coded, nil
}

func seconds(frames float64, rate int) *float64 {
	const perFrame = 4 // places are quarters of a frame
	s := ledger.Seconds(int64(math.Round(frames*perFrame)), rate*perFrame)
	return &s
}

// recorded is what an entry has of a coder as it is now, judged by the limit as it is now; nil: nothing.
// Which versions the programs have is only looked at where coders are run.
func (e *engine) recorded(ctx context.Context, x release.Coder, entry *ledger.Track) *ledger.Coded {
	for _, old := range entry.Coders {
		if !slices.Equal(old.Encode, x.Encode) || !slices.Equal(old.Decode, x.Decode) {
			continue
		}
		if e.options.RunCoders {
			if versions, err := e.bench.Versions(ctx, x); err != nil || !slices.Equal(versions, old.Versions) {
				continue
			}
		}
		old.Coder = x.Name
		old.Require(x.TruePeakMaxDBTP)
		if !x.Solve {
			old.Solved = nil
		}
		return &old
	}
	return nil
}
