package stagetest

import (
	"fmt"
	"math"

	"ledgerline/stages"
)

// before is how many frames are in dst before a stage appends to it.
const before = 3

// Render puts a whole signal through a stage at once.
func Render(s stages.Stage, in stages.Block) stages.Block {
	return s.Flush(s.Process(stages.NewBlock(len(in), 0), in))
}

// feed puts in through a stage in blocks of the given lengths, over and over,
// and looks after the rules that hold at every call. A length may be 0.
func feed(s stages.Stage, in stages.Block, o Options, lengths ...int) (stages.Block, error) {
	f := feeder{stage: s, out: stages.NewBlock(len(in), 0), effect: stages.Effect{}}
	for at, k := 0, 0; at < in.Frames() || k < len(lengths); k++ {
		n := min(lengths[k%len(lengths)], in.Frames()-at)
		if err := f.process(in.Slice(at, at+n)); err != nil {
			return nil, fmt.Errorf("block of %d frames after %d: %w", n, at, err)
		}
		at += n
		if out := f.out.Frames(); out > o.out(at) || out < o.out(at-o.HoldBack) {
			return nil, fmt.Errorf("%d frames in, %d out: 0 to %d may be held back", at, out, o.HoldBack)
		}
	}
	if err := f.flush(); err != nil {
		return nil, fmt.Errorf("flush: %w", err)
	}
	if want := o.out(in.Frames()); f.out.Frames() != want {
		return nil, fmt.Errorf("%d frames in, %d out, want %d", in.Frames(), f.out.Frames(), want)
	}
	return f.out, nil
}

// feeder feeds one stage and gathers what comes out.
type feeder struct {
	stage  stages.Stage
	out    stages.Block
	effect stages.Effect
	calls  int
}

func (f *feeder) process(in stages.Block) error {
	given := clone(in)
	dst := f.stage.Process(f.dst(in.Frames()), given)
	if err := same(given, in); err != nil {
		return fmt.Errorf("the stage changed what it read: %w", err)
	}
	poison(given)
	return f.take(dst)
}

func (f *feeder) flush() error { return f.take(f.stage.Flush(f.dst(0))) }

// dst is a block with frames in it already and with poison in its spare
// memory, which is now more and now less than what is needed.
func (f *feeder) dst(frames int) stages.Block {
	f.calls++
	spare := []int{0, frames, 2*frames + 100, frames / 2}[f.calls%4]
	dst := stages.NewBlock(len(f.out), before+spare)
	poison(dst)
	for c := range dst {
		dst[c] = dst[c][:before]
		for i := range dst[c] {
			dst[c][i] = mark(c, i)
		}
	}
	return dst
}

// mark is what is at a frame of dst before the stage appends.
func mark(channel, frame int) float64 { return float64(100*channel + frame) }

// take checks what a call returned, moves it to f.out and poisons what it was in.
func (f *feeder) take(dst stages.Block) error {
	if len(dst) != len(f.out) {
		return fmt.Errorf("%d channels in, %d out", len(f.out), len(dst))
	}
	for c := range dst {
		if len(dst[c]) != len(dst[0]) || len(dst[c]) < before {
			return fmt.Errorf("channel %d has %d frames, channel 0 has %d, and %d stood there before", c, len(dst[c]),
				len(dst[0]), before)
		}
		for i := range before {
			if dst[c][i] != mark(c, i) {
				return fmt.Errorf("channel %d: frame %d of dst was there before the call and was changed", c, i)
			}
		}
		f.out[c] = append(f.out[c], dst[c][before:]...)
	}
	poison(dst)
	return f.account()
}

// account checks that the effect only ever grows.
func (f *feeder) account() error {
	e := f.stage.Effect()
	if e.Touched < f.effect.Touched || e.Clamped < f.effect.Clamped || !(e.Removed >= f.effect.Removed) ||
		!(e.Cut >= f.effect.Cut) {
		return fmt.Errorf("the effect went back from %+v to %+v", f.effect, e)
	}
	if math.IsInf(e.Removed, 0) || math.IsInf(e.Cut, 0) {
		return fmt.Errorf("the effect is not finite: %+v", e)
	}
	f.effect = e
	return nil
}

// clone is a copy of b in memory of its own.
func clone(b stages.Block) stages.Block { return stages.NewBlock(len(b), 0).Append(b) }

// poison fills all of b's memory with values that spread.
func poison(b stages.Block) {
	for c := range b {
		all := b[c][:cap(b[c])]
		for i := range all {
			all[i] = math.NaN()
		}
	}
}

// same says where two blocks of one length differ by so much as a bit. Samples
// that are not a number count as one and the same.
func same(got, want stages.Block) error {
	for c := range want {
		for i, w := range want[c] {
			g := got[c][i]
			if math.Float64bits(g) != math.Float64bits(w) && !(math.IsNaN(g) && math.IsNaN(w)) {
				return fmt.Errorf("channel %d, frame %d: %v, want %v", c, i, g, w)
			}
		}
	}
	return nil
}
