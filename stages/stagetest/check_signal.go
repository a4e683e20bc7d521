package stagetest

import (
	"fmt"
	"math"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// checkAlignment looks at every sample that the stage has no cause to touch.
func checkAlignment(make Maker, o Options) error {
	if o.OutRate != 0 {
		return checkMoments(make, o)
	}
	in := programme(2, o)
	out, err := feed(make(o.format(2)), in, o, block)
	if err != nil {
		return err
	}
	for c := range in {
		o.untouched(c, len(in), in.Frames(), func(i int) {
			if e := o.deviation(in[c][i], out[c][i]); e != nil && err == nil {
				err = fmt.Errorf("channel %d, frame %d: %w", c, i, e)
			}
		})
	}
	return err
}

// checkMoments puts a low tone through a change of rate: out of reach of its ends it must be that tone at the
// moments of the frames that come out.
func checkMoments(make Maker, o Options) error {
	in := stages.NewBlock(2, o.frames())
	turn := func(rate, c int) float64 { return float64(300+100*c) * 2 * math.Pi / float64(rate) }
	for c := range in {
		for i := range in[c] {
			in[c][i] = math.Sin(turn(o.format(2).Rate, c) * float64(i))
		}
	}
	out, err := feed(make(o.format(2)), in, o, block)
	if err != nil {
		return err
	}
	for c := range out {
		for i := range out[c] {
			if at := o.in(i); at < o.Reach || at >= in.Frames()-o.Reach {
				continue
			}
			if want := math.Sin(turn(o.OutRate, c) * float64(i)); math.Abs(out[c][i]-want) > 1e-6 {
				return fmt.Errorf("channel %d, frame %d: %v, and at that moment the tone is %v", c, i, out[c][i], want)
			}
		}
	}
	return nil
}

// deviation says how a sample out differs from what should have come of in.
func (o Options) deviation(in, out float64) error {
	want := o.want(in)
	if math.Float64bits(out) == math.Float64bits(want) || o.Within > 0 && math.Abs(out-want) <= o.Within {
		return nil
	}
	return fmt.Errorf("%v became %v, want %v within %v", in, out, want, o.Within)
}

// checkSilence wants silence for silence, as far as Want and Within allow another.
func checkSilence(make Maker, o Options) error {
	in := stages.NewBlock(2, o.frames())
	out, err := feed(make(o.format(2)), in, o, block)
	if err != nil {
		return err
	}
	for c := range out {
		for i, x := range out[c] {
			if err := o.deviation(0, x); err != nil {
				return fmt.Errorf("channel %d, frame %d: %w", c, i, err)
			}
		}
	}
	return nil
}

// checkChannels plays in one channel at a time: the others must be what they
// are when none plays.
func checkChannels(make Maker, o Options) error {
	for _, channels := range long.Or([]int{2}, []int{2, 6}) {
		all := brief(channels, o)
		silent, err := feed(make(o.format(channels)), stages.NewBlock(channels, all.Frames()), o, block)
		if err != nil {
			return err
		}
		for loud := range channels {
			in := stages.NewBlock(channels, all.Frames())
			in[loud] = all[loud]
			out, err := feed(make(o.format(channels)), in, o, block)
			if err != nil {
				return err
			}
			out[loud] = silent[loud]
			if err := same(out, silent); err != nil {
				return fmt.Errorf("channel %d of %d plays alone: %w", loud, channels, err)
			}
		}
	}
	return nil
}

// checkNonFinite strews samples that are not finite into the first channel. Out
// of their reach, and in the second channel if it is not linked with the first, everything must
// be as if zeros stood in their place.
func checkNonFinite(make Maker, o Options) error {
	clean := programme(2, o)
	dirty := clone(clean)
	n := o.frames()
	strewn := map[int]float64{
		0: math.NaN(), n / 8: math.Inf(1), 3 * n / 8: math.NaN(), n - 1: math.NaN(),
	}
	if long.Wanted() {
		strewn[n/2+30] = math.Inf(-1)
	} else if o.slowToHold() {
		strewn[n/8] = math.NaN()
	}
	var reach []burst
	for frame, x := range strewn {
		clean[0][frame], dirty[0][frame] = 0, x
		reach = append(reach, burst{from: frame, to: frame + 1})
	}
	want, err := feed(make(o.format(2)), clean, o, block)
	if err != nil {
		return err
	}
	got, err := feed(make(o.format(2)), dirty, o, block)
	if err != nil {
		return err
	}
	for i := range got[0] {
		if near(reach, o.in(i), o.Reach) || o.Remembers && got[0][i]-got[0][i] == 0 {
			got[0][i], want[0][i] = 0, 0
			if o.Linked {
				got[1][i], want[1][i] = 0, 0
			}
		}
	}
	return same(got, want)
}

// checkCeiling looks at every sample of a loud signal, with infinite ones.
func checkCeiling(make Maker, o Options) error {
	if !o.Holds {
		return nil
	}
	in := programme(2, o)
	if !long.Wanted() {
		in = in.Slice(0, o.frames()/4+100) // with the burst there
	}
	if !o.slowToHold() || long.Wanted() {
		in[1][o.frames()/8] = math.Inf(1)
	}
	if long.Wanted() {
		in[1][3*o.frames()/8] = math.Inf(-1)
	}
	out, err := feed(make(o.format(2)), in, o, block)
	if err != nil {
		return err
	}
	for c := range out {
		for i, x := range out[c] {
			if !(math.Abs(x) <= o.Ceiling) {
				return fmt.Errorf("channel %d, frame %d: %v passes the ceiling %v", c, i, x, o.Ceiling)
			}
		}
	}
	return nil
}

// slowToHold says that the stage holds a signal that it looks at a long stretch of, which takes long where a
// sample is infinite: a quick run leaves such samples to tests of the stage.
func (o Options) slowToHold() bool { return o.Holds && o.HoldBack > block }

// checkEffect counts what was done and compares it with what the stage says.
func checkEffect(make Maker, o Options) error {
	if !o.Books {
		return nil
	}
	in, s := programme(2, o), make(o.format(2))
	out, err := feed(s, in, o, block)
	if err != nil {
		return err
	}
	got, want := s.Effect(), effect(in, out, o.Ceiling)
	if got.Touched != want.Touched {
		return fmt.Errorf("%d samples touched, the effect says %d", want.Touched, got.Touched)
	}
	if !nearly(got.Removed, want.Removed) {
		return fmt.Errorf("%v removed, the effect says %v", want.Removed, got.Removed)
	}
	if !nearly(got.Cut, want.Cut) {
		return fmt.Errorf("deepest cut %v, the effect says %v", want.Cut, got.Cut)
	}
	return nil
}

// effect is what was done to in, by the definition of stages.Effect.
func effect(in, out stages.Block, ceiling float64) stages.Effect {
	e := stages.Effect{}
	for c := range in {
		for i, x := range in[c] {
			y := out[c][i]
			if math.Float64bits(x) == math.Float64bits(y) {
				continue
			}
			e.Touched++
			e.Removed += float64((x - y) * (x - y))
			if math.Abs(x) > ceiling {
				e.Cut = max(e.Cut, math.Abs(x)/math.Abs(y))
			}
		}
	}
	return e
}

// nearly says that two sums of the same terms are equal but for their rounding.
func nearly(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(b) }
