package stagetest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// block is a caller's usual block length.
const block = 4096

// splits are the ways of cutting a signal into blocks, each said over and over; a quick run has a few of
// them.
func (o Options) splits() [][]int {
	ones := slices.Repeat([]int{1}, 50)
	s := long.Or([][]int{append(ones, 500), {0, 257, 0, 0}}, [][]int{
		{1}, {2, 3}, {7}, {997}, {0, 257, 0, 0}, {1, 0, block},
	})
	for _, n := range long.Or([]int{max(block, o.HoldBack)}, []int{64, block, o.HoldBack}) {
		if n > 1 {
			s = append(s, long.Or([][]int{{n + 1}}, [][]int{{n - 1}, {n}, {n + 1}, {2 * n}})...)
		}
	}
	random := rand.New(rand.NewPCG(2, 3))
	var mixed []int
	for range 40 {
		mixed = append(mixed, random.IntN(800))
	}
	return append(s, mixed)
}

// checkBlockLengths renders one signal in blocks of many lengths: the bytes
// and the effect must be those of the signal given at once.
func checkBlockLengths(make Maker, o Options) error {
	in := brief(2, o)
	whole := make(o.format(2))
	want, err := feed(whole, in, o, in.Frames())
	if err != nil {
		return err
	}
	for _, lengths := range o.splits() {
		s := make(o.format(2))
		got, err := feed(s, in, o, lengths...)
		if err == nil {
			err = same(got, want)
		}
		if err == nil && s.Effect() != whole.Effect() {
			err = fmt.Errorf("effect %+v, want %+v", s.Effect(), whole.Effect())
		}
		if err != nil {
			return fmt.Errorf("blocks of %v frames: %w", lengths, err)
		}
	}
	return nil
}

// checkFrames renders signals of a few frames and of about as many as are held back.
func checkFrames(make Maker, o Options) error {
	signal := programme(long.Or(2, 6), o)
	for _, channels := range long.Or([]int{2}, []int{1, 2, 6}) {
		for i, frames := range long.Or([]int{0, 1, 2, 3, o.HoldBack, o.HoldBack + 1},
			[]int{0, 1, 2, 3, o.HoldBack - 1, o.HoldBack, o.HoldBack + 1, 2*o.HoldBack + 1}) {
			splits := [][]int{{max(frames, 1)}, {0, 2}, {1}}
			for _, lengths := range long.Or(splits[i%2:][:1], splits) {
				in := signal[:channels].Slice(0, max(frames, 0))
				if _, err := feed(make(o.format(channels)), in, o, lengths...); err != nil {
					return fmt.Errorf("%d frames of %d channels in blocks of %v: %w", frames, channels, lengths, err)
				}
			}
		}
	}
	return nil
}

// checkFresh renders one signal by two stages at work side by side and by a third after them.
func checkFresh(make Maker, o Options) error {
	in := brief(2, o)
	a, b := make(o.format(2)), make(o.format(2))
	outA, outB := stages.NewBlock(2, 0), stages.NewBlock(2, 0)
	for at := 0; at < in.Frames(); at += 1000 {
		part := in.Slice(at, min(at+1000, in.Frames()))
		outA, outB = a.Process(outA, part), b.Process(outB, part)
	}
	outA, outB = a.Flush(outA), b.Flush(outB)
	if err := same(outA, outB); err != nil {
		return fmt.Errorf("side by side: %w", err)
	}
	if err := same(Render(make(o.format(2)), in), outA); err != nil {
		return fmt.Errorf("one after the other: %w", err)
	}
	return nil
}

// checkAllocations renders the same blocks again and again into the same memory.
func checkAllocations(make Maker, o Options) error {
	in := brief(2, o)
	s, dst := make(o.format(2)), stages.NewBlock(2, 0)
	var blocks []stages.Block
	for at := 0; at < in.Frames(); at += block {
		blocks = append(blocks, in.Slice(at, min(at+block, in.Frames())))
	}
	once := func() {
		for _, b := range blocks {
			dst = s.Process(dst.Empty(), b)
		}
	}
	for range 3 {
		once()
	}
	if n := testing.AllocsPerRun(long.Or(1, 5), once); n != 0 {
		return fmt.Errorf("%v allocations in %d blocks", n, len(blocks))
	}
	return nil
}
