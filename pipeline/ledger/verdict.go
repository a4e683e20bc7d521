package ledger

import (
	"fmt"
	"math"

	"ledgerline/stages"
)

// outcome is what a stage, or the whole chain, did to the headroom, counted from
// samples and from true peaks.
type outcome struct {
	change, trueChange *float64 // nil: not shown
	net, trueNet       *float64
	idle               bool  // it took nothing down and dithered nothing: what it lost, it lost for nothing
	clamped            int64 // samples that a dither took more codes off than a dither has to
}

func (s StageResult) outcome() outcome {
	o := outcome{
		change: s.ChangeDB, trueChange: negative(s.TruePeakChangeDB), net: s.NetDB, trueNet: s.trueNet(),
	}
	o.idle = s.Ceiling == nil || s.Ceiling.removed() == nil
	if s.kind().Rounds != nil {
		o.idle = false
		o.trueChange = nil // its noise moves true peaks by a hair either way: no word for that
		o.clamped = s.clamped()
	}
	return o
}

// kind is the kind that the stage is of, as far as this version knows it.
func (s StageResult) kind() stages.Kind {
	k, _ := stages.KindNamed(s.Kind)
	return k
}

// clamped is how many samples a dither clipped.
func (s StageResult) clamped() int64 {
	if s.kind().Rounds == nil || s.Ceiling == nil {
		return 0
	}
	return s.Ceiling.ClampedSamples
}

// outcome is that of the whole chain, whose change is shown from sample peaks alone: its
// nets are what matters, and those have a word of their own.
func (t *Track) outcome() outcome {
	w := t.whole()
	o := outcome{change: w.ChangeDB, net: w.NetDB, trueNet: w.TrueNetDB, idle: true}
	for _, s := range t.Stages {
		o.clamped += s.clamped()
		o.idle = o.idle && s.outcome().idle
	}
	return o
}

func negative(x *float64) *float64 {
	zero := 0.0
	return minus(&zero, x)
}

// verdict is the word for a change of headroom. Turning up loses headroom on
// purpose, and its nets are zero: LOST, in capitals, is what is lost at equal
// loudness too, by samples and by true peaks, and never said of a stage that did
// what it is for.
func (o outcome) verdict() (string, tone) {
	return o.word(leading(o.change, o.trueChange), "gained")
}

// bought is the word for the nets of a whole chain.
func (o outcome) bought() (string, tone) {
	return o.word(leading(o.net, o.trueNet), "bought")
}

// word is that for a figure of a sign, of which more is better.
func (o outcome) word(sign int, more string) (string, tone) {
	switch {
	case o.clamped > 0:
		return "clamped", alarm
	case sign > 0:
		return more, good
	case sign < 0 && o.lost():
		return "LOST", alarm
	case sign < 0:
		return "lost", notice
	}
	return "", plain
}

// lost tells whether headroom was lost at equal loudness, however it is counted
// and for nothing.
func (o outcome) lost() bool { return o.bothBelow() && o.idle }

func (o outcome) bothBelow() bool { return sign(o.net) < 0 && sign(o.trueNet) < 0 }

// toneOf is the tone of one of the nets.
func (o outcome) toneOf(net *float64) tone {
	switch {
	case sign(net) > 0 && o.clamped == 0:
		return good
	case sign(net) < 0 && o.lost():
		return alarm
	case sign(net) < 0:
		return notice
	}
	return plain
}

// leading is the sign that a figure counted from samples and the same counted
// from true peaks agree on, or else that of the one that is further from zero.
func leading(bySample, byTruePeak *float64) int {
	a, b := sign(bySample), sign(byTruePeak)
	if a == 0 || b != 0 && math.Abs(*byTruePeak) > math.Abs(*bySample) {
		return b
	}
	return a
}

// remark says what the word and the nets of a stage leave open; nothing, most of
// the time.
func (s StageResult) remark() (string, tone) {
	o, name := s.outcome(), clean(s.Stage)
	word := leading(o.change, o.trueChange)
	switch {
	case o.clamped > 0:
		return fmt.Sprintf("warning: %s took more than %d codes off %s: it is not a clipper; put a clip and a "+
			"hold before it",
			name, stages.DitherReach, many(o.clamped, "sample")), alarm
	case o.lost():
		text := fmt.Sprintf("%s lost %s dB of headroom at equal loudness", name, fixed(-*o.net))
		if fixed(*o.net) != fixed(*o.trueNet) {
			text += fmt.Sprintf(", %s dB counted from true peaks", fixed(-*o.trueNet))
		}
		return text, alarm
	case o.bothBelow() && word > 0:
		return name + " cost more loudness than it gained headroom", notice
	case word != 0 && sign(o.change) == 0:
		return fmt.Sprintf("%s: %s, the sample peak is the same", name, peakMoved("true", o.trueChange)), plain
	case word != 0 && sign(o.change) != word:
		return fmt.Sprintf("%s: %s, but %s", name, peakMoved("true", o.trueChange), peakMoved("sample", o.change)),
			plain
	}
	return "", plain
}

// peakMoved tells in words how a peak moved, from the change of its headroom.
func peakMoved(peak string, change *float64) string {
	if *change > 0 {
		return fmt.Sprintf("the %s peak is %s dB lower", peak, fixed(*change))
	}
	return fmt.Sprintf("the %s peak is %s dB higher", peak, fixed(-*change))
}
