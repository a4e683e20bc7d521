package main

import (
	"fmt"
	"runtime"
	"time"

	"ledgerline/stages"

	"golang.org/x/sync/errgroup"
)

// A chain is a clip and what holds the ceiling after it.
type chain struct {
	factor int    // of oversampled_clip; 1 = hard_clip
	hold   string // the method of ceiling_hold; empty = none
}

var (
	factors = []int{1, 2, 4, 8, 16}
	holds   = []string{"", "plain", "band_limited"}
)

// chains are the rows of both tables: every factor under each hold.
func chains() (rows []chain) {
	for _, hold := range holds {
		for _, factor := range factors {
			rows = append(rows, chain{factor, hold})
		}
	}
	return rows
}

// clipName is the clip as the tables call it.
func (c chain) clipName() string {
	if c.factor == 1 {
		return "hard_clip"
	}
	return fmt.Sprintf("oversampled_clip %d", c.factor)
}

// clipStage is a new clip.
func (c chain) clipStage(f stages.Format, ceiling float64) (stages.Stage, error) {
	if c.factor == 1 {
		return build("hard_clip", f, stages.Settings{"ceiling_dbfs": ceiling})
	}
	return build("oversampled_clip", f, stages.Settings{"ceiling_dbfs": ceiling, "factor": int64(c.factor)})
}

// holdStage is a new hold.
func (c chain) holdStage(f stages.Format, ceiling float64) (stages.Stage, error) {
	return build("ceiling_hold", f, stages.Settings{"ceiling_dbfs": ceiling, "method": c.hold})
}

// build makes a stage with its kind's defaults for every other setting.
func build(kind string, f stages.Format, s stages.Settings) (stages.Stage, error) {
	k, ok := stages.KindNamed(kind)
	if !ok {
		return nil, fmt.Errorf("no kind of stage is named %q", kind)
	}
	k.Fill(s)
	return stages.Build(kind, f, s)
}

// blockFrames is how many frames a stage is fed at once, as a render does.
const blockFrames = 4096

// run feeds the whole of in to a stage and returns what comes out, and the
// processor time the stage took.
func run(s stages.Stage, in stages.Block) (out stages.Block, spent time.Duration) {
	out = stages.NewBlock(len(in), in.Frames()).Empty()
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	start := processorTime()
	for from := 0; from < in.Frames(); from += blockFrames {
		out = s.Process(out, in.Slice(from, min(from+blockFrames, in.Frames())))
	}
	out = s.Flush(out)
	return out, processorTime() - start
}

// each calls do for 0 to n-1, as many at once as there are processors.
func each(n int, do func(i int) error) error {
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range n {
		g.Go(func() error { return do(i) })
	}
	return g.Wait()
}
