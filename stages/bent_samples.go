package stages

import "math"

// bentSamples is a clip at the track's rate with a knee, or of channels that are linked, or both. A sample
// that is not a number stays as it is, and the channels linked with it go on as if it were 0.
type bentSamples struct {
	knee
	linked  bool
	effects []tally // by channel
}

func (b *bentSamples) Process(dst, in Block) Block {
	from := 0
	if len(dst) > 0 {
		from = len(dst[0])
	}
	dst = dst.Append(in)
	if b.linked {
		b.clipTogether(dst, in, from)
	} else {
		b.clipApart(dst, in, from)
	}
	for c := range in {
		b.effects[c].frame += int64(len(in[c]))
	}
	return dst
}

// clipApart clips the frames in at their place in dst, each channel by itself.
func (b *bentSamples) clipApart(dst, in Block, from int) {
	for c, x := range in {
		y := dst[c][from:]
		for i, v := range x {
			if m := math.Abs(v); b.zone(m) != below {
				b.put(c, i, &y[i], math.Copysign(b.clip(m), v))
			}
		}
	}
}

// clipTogether clips the frames in at their place in dst: what the largest magnitude among the channels
// loses, all of them lose in proportion.
func (b *bentSamples) clipTogether(dst, in Block, from int) {
	for i := range in.Frames() {
		most := 0.0
		for c := range in {
			if m := math.Abs(in[c][i]); m > most {
				most = m
			}
		}
		if b.zone(most) == below {
			continue
		}
		left := b.clip(most)
		part := left / most // 0 where the largest is infinite
		for c := range in {
			v := in[c][i]
			to := part * v
			if math.Abs(v) == most {
				to = math.Copysign(left, v)
			}
			b.put(c, i, &dst[c][from+i], min(max(to, -left), left))
		}
	}
}

// put sets a sample of a channel, in frame i of those that come next, to what it becomes.
func (b *bentSamples) put(channel, i int, sample *float64, to float64) {
	if was := *sample; was == was && was != to {
		b.effects[channel].at(i).book(was, to, b.ceiling)
		*sample = to
	}
}

func (b *bentSamples) Flush(dst Block) Block { return dst }

func (b *bentSamples) Effect() Effect { return totalOf(b.effects) }

func (b *bentSamples) EffectOn(track int) Effect { return allOn(b.effects, track) }
