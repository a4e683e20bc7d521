package coder

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
	"ledgerline/stages/fourier"
)

const (
	blockFrames  = 4096
	windowFrames = 1 << 16 // of the delivery that is sought in what comes back
	lagFrames    = 1 << 15 // by which it may be shifted, to each side
	likeEnough   = 0.5     // the least correlation of what is the same programme
	missingS     = 0.1     // that may be missing at each end, seconds
	// of two shifts whose correlations differ by no more, the smaller counts: a tone has many
	rival = 1e-3
)

// delayOf finds by how many frames what came back lies after the delivery, by the largest cross-correlation,
// all channels together, of the delivery's loudest stretch with what came back around it. Silence is not
// delayed.
func delayOf(ctx context.Context, in, back *audiofile.Reader) (int64, error) {
	from, err := loudest(ctx, in)
	if err != nil || from < 0 {
		return 0, err
	}
	a, err := stretch(in, from, windowFrames)
	if err != nil {
		return 0, err
	}
	b, err := stretch(back, from-lagFrames, windowFrames+2*lagFrames)
	if err != nil {
		return 0, err
	}
	sum := correlation(a, b)
	best := 0
	for lag, v := range sum {
		if v > sum[best] {
			best = lag
		}
	}
	for away := range lagFrames { // the smallest shift that is as good
		for _, lag := range []int{lagFrames - away, lagFrames + away} {
			if lag > 0 && lag < len(sum)-1 && sum[lag] >= sum[lag-1] && sum[lag] >= sum[lag+1] &&
				sum[lag] >= sum[best]*(1-rival) {
				return int64(lag - lagFrames), like(sum[lag], a, b, lag)
			}
		}
	}
	return int64(best - lagFrames), like(sum[best], a, b, best)
}

// like fails if two signals are not alike at a lag.
func like(product float64, a, b stages.Block, lag int) error {
	var aa, bb float64
	for c := range a {
		for i, x := range a[c] {
			y := b[c][lag+i]
			aa += float64(x * x)
			bb += float64(y * y)
		}
	}
	if bb == 0 {
		return errors.New("it is silent, or not finite, where the delivery is loudest; see that encode takes all " +
			"of the delivery and decode returns it")
	}
	if r := product / math.Sqrt(float64(aa*bb)); !(r >= likeEnough) {
		return fmt.Errorf("it is not the delivery: their correlation is %.2f at best, within %d frames; see that "+
			"decode returns what was encoded", max(r, 0), lagFrames)
	}
	return nil
}

// loudest is the first frame of the delivery's loudest stretch; -1: it is silent.
func loudest(ctx context.Context, r *audiofile.Reader) (int64, error) {
	var energies []float64
	err := each(ctx, r, func(b stages.Block) {
		sum := 0.0
		for _, x := range b {
			for _, v := range x {
				if v-v == 0 {
					sum += float64(v * v)
				}
			}
		}
		energies = append(energies, sum)
	})
	const blocks = windowFrames / blockFrames
	best, at := 0.0, -1
	for i := range energies {
		sum := 0.0
		for _, e := range energies[i:min(i+blocks, len(energies))] {
			sum += e
		}
		if sum > best {
			best, at = sum, i
		}
	}
	if at < 0 {
		return -1, err
	}
	return int64(at) * blockFrames, err
}

// each calls do with every block of a file.
func each(ctx context.Context, r *audiofile.Reader, do func(stages.Block)) error {
	if err := r.SeekFrame(0); err != nil {
		return err
	}
	block := stages.NewBlock(r.Info().Channels, blockFrames)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := r.Read(block)
		if n > 0 {
			do(block.Slice(0, n))
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// stretch are so many frames from one on, with silence where there are none. What is not finite is silence,
// too.
func stretch(r *audiofile.Reader, from int64, frames int) (stages.Block, error) {
	b := stages.NewBlock(r.Info().Channels, frames)
	skip := max(0, -from)
	has := min(r.Info().Frames-max(from, 0), int64(frames)-skip)
	if has <= 0 {
		return b, nil
	}
	if err := r.SeekFrame(max(from, 0)); err != nil {
		return nil, err
	}
	if _, err := r.Read(b.Slice(int(skip), int(skip+has))); err != nil && err != io.EOF {
		return nil, err
	}
	for _, x := range b {
		for i, v := range x {
			if v-v != 0 {
				x[i] = 0
			}
		}
	}
	return b, nil
}

// correlation are the sums of a[i]*b[lag+i] over all channels, for each lag from 0 to the difference of their
// lengths. That of b is a power of two.
func correlation(a, b stages.Block) []float64 {
	n := b.Frames()
	plan := fourier.NewReal(n)
	sumRe, sumIm := make([]float64, n/2+1), make([]float64, n/2+1)
	aRe, aIm, bRe, bIm := make([]float64, n/2+1), make([]float64, n/2+1), make([]float64, n/2+1),
		make([]float64, n/2+1)
	padded := make([]float64, n)
	for c := range a {
		clear(padded[copy(padded, a[c]):])
		plan.Forward(aRe, aIm, padded)
		plan.Forward(bRe, bIm, b[c])
		for k := range sumRe {
			sumRe[k] += float64(aRe[k]*bRe[k]) + float64(aIm[k]*bIm[k])
			sumIm[k] += float64(aRe[k]*bIm[k]) - float64(aIm[k]*bRe[k])
		}
	}
	plan.Inverse(padded, sumRe, sumIm)
	for i := range padded {
		padded[i] /= float64(n) / 2
	}
	return padded[:n-a.Frames()+1]
}
