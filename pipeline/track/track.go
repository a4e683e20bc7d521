// Package track takes one mix down one chain, and measures it at every boundary.
//
// A Pass reads its input in batches of some thousand frames. Each stage makes of what
// boundary k got what boundary k+1 gets; a meter reads every boundary; what a stage took
// from the programme is measured beside it. Reading, each stage, each meter and the
// writing are lanes, and any number of workers may be on different lanes of one track:
// every lane takes the batches in order, so that neither the number of workers nor the
// length of a batch changes a bit. With one worker a batch goes down the whole chain
// while it is in the processor's cache.
//
// A hold promises that what comes after it keeps its ceiling; Tries has the track
// rendered again where a reading tells that the promise was not kept.
package track

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// A Pass takes one audio file down a chain of stages into another file, with
// or without a meter at every boundary.
type Pass struct {
	To      Sink             // the output
	Removed *Removed         // also writes what the chain took away; nil: not asked for
	Advance func(frames int) // told of what has been written; nil: nobody is

	from   reader
	info   audiofile.Info // of the file read, or of the stream
	stream *stream        // of a pass through several mixes; nil: it goes through one
	part   part           // of a pass that is one of those
	branch branch         // of a pass that is one of a tree
	tries  *Tries         // the same
	chain  []stages.Use
	rates  []int          // of each boundary, Hz
	links  []link         // the chain at work
	limits int            // the stage whose samples the output's encoding may limit; -1: none
	meters []*meter.Meter // meters[k] reads boundary k, and may read k-1 too; none: nothing is read
	short  []*shortMeters // of each boundary, nil where there are none; none: nothing is read
	pairs  []pair         // pairs[k] says which meter that of boundary k follows or leads
	cuts   []*removal     // of each stage that cuts, nil for the others; none: nothing is measured
	whole  *removal       // of the whole chain; nil with them
	clips  *removal       // of the whole chain and what the dither at its end clips; nil: it cannot
	brief  *brief         // nil: everything is read
	mixOf  []stages.Use   // the chain that the mix is read for, of a pass through no stage; nil: for none

	hearing   Hearing
	listeners []*listener
	told      []figure // of each stage
	aliased   []figure // what of it aliased
	toldWhole figure   // of the whole chain

	limiters []limiter // of the parts of that stage

	recorder *recorder // of the record along the track; nil: none is made

	disc disc // of a file of whole frames of a disc

	odd    nonFinite // samples of the file that are NaN or infinite
	frames int       // read at once
}

// Options are what a pass needs to know besides its input and its chain.
type Options struct {
	Seed   uint64 // of the noise of dithers, see Seed
	Tries  *Tries // what the chain's holds aim at; nil: their ceilings
	Zeros  bool   // samples that are not finite become zeros, and are no error
	Frames int    // read at once: at least 1
	// LevelDBSPL is the playback level of a sine at full scale, which some stages reckon with; 0 =
	// ear.LevelDBSPL.
	LevelDBSPL float64
}

// Seed tells a track's noise from that of others. All variants of a track
// share it, so that what differs between them is not the noise.
func Seed(track string) uint64 {
	sum := sha256.Sum256([]byte(track))
	return binary.LittleEndian.Uint64(sum[:])
}

// New readies a pass through a chain, without meters and without outputs.
func New(in *Input, chain []stages.Use, o Options) (*Pass, error) {
	return newPass(in, in.Info(), nil, chain, o, nil, 0)
}

// newPass readies a pass through a chain that is fed what comes from a reader. Of several
// mixes ends are the first frames after each. So many of its first stages are those of another pass.
func newPass(from reader, info audiofile.Info, ends []int64, chain []stages.Use, o Options, of *Pass,
	shared int) (*Pass, error) {
	p := &Pass{from: from, info: info, chain: chain, rates: ratesOf(info.Rate, chain), frames: o.Frames}
	p.odd = nonFinite{zeros: o.Zeros, rate: p.info.Rate}
	p.branch.of, p.branch.shared = of, shared
	p.limits = o.Tries.limits(chain)
	f := stages.Format{Channels: p.info.Channels, Seed: o.Seed, LevelDBSPL: o.LevelDBSPL}
	for k, use := range chain {
		if !p.branch.has(k) {
			p.links = append(p.links, of.links[k])
			continue
		}
		f.Rate, f.Ends, f.AimLowerDB = p.rates[k], p.framesAt(ends, k), o.Tries.lowerDB(k)
		l, err := newLink(use, f)
		if err != nil {
			return nil, fmt.Errorf("stage %q: %w", use.Name, err)
		}
		p.links = append(p.links, l)
	}
	if k := p.limits; k >= 0 && p.branch.has(k) {
		p.limiters = newLimiters(len(p.links[k].stages), o.Tries.encoding, p.framesAt(ends, k+1))
	} else if k >= 0 {
		p.limiters = of.limiters
	}
	return p, nil
}

// Info is that of the file that is read.
func (p *Pass) Info() audiofile.Info { return p.info }

// Output is Info with the rate and the frames of the file that is written.
func (p *Pass) Output() audiofile.Info {
	info, last := p.info, len(p.chain)
	info.Rate, info.Frames = p.rates[last], p.File().Frames
	return info
}

// Measure puts a meter at every boundary and at what is removed. Headroom is counted
// down from the release's ceiling, dBFS.
func (p *Pass) Measure(ceilingDBFS float64) {
	weights := meter.Weights(p.info.Channels, p.info.Mask)
	for k := range len(p.chain) + 1 {
		if of := p.branch.of; !p.branch.reads(k) && p.judged(k) == of.judged(k) {
			p.meters = append(p.meters, p.branch.of.meters[k])
			continue
		}
		// A measure passes on what it gets, and the ceiling in force with it. Only
		// before the first stage may the two differ, by samples that are not finite.
		if k > 1 && p.chain[k-1].Of().Reads {
			p.meters = append(p.meters, p.meters[k-1])
			continue
		}
		if !p.reads(k) {
			p.meters = append(p.meters, p.known(k))
			continue
		}
		p.meters = append(p.meters, meter.New(meter.Options{
			Rate:    p.rates[k],
			Weights: weights,
			Ceiling: stages.Linear(ceilingAt(k, p.chain, ceilingDBFS)),

			WholeBand: p.judged(k),
		}))
	}
	p.pairMeters()
	p.setShort()
	p.setRemovals()
	if p.stream != nil {
		for _, part := range p.stream.parts {
			part.Measure(ceilingDBFS)
			part.pairs = make([]pair, len(part.meters)) // each looks everywhere: a batch has marks for one track only
		}
	}
}

// judged reports whether boundary k is what a promise or the release's limits are judged by: after a stage
// that promises a ceiling, and at the chain's end. A measure's meter is that of the boundary before. Where
// the meter after a stage follows the one before it, that one has to know as much.
func (p *Pass) judged(k int) bool {
	if p.mixOf != nil {
		p = &Pass{chain: p.mixOf}
	}
	if k > 0 && p.chain[k-1].Promise() != stages.NoPromise {
		return true
	}
	for k < len(p.chain) && p.chain[k].Of().Reads {
		k++
	}
	return k == len(p.chain) || p.chain[k].Of().Like != nil && p.judged(k+1)
}

// Abort leaves nothing of the files that are not finished.
func (p *Pass) Abort() {
	if p.To != nil {
		p.To.Abort()
	}
	if p.Removed != nil {
		p.Removed.To.Abort()
	}
	for _, part := range p.Parts() {
		part.Abort()
	}
}

// Run takes the whole file down the chain. The caller holds a token of the crew.
func (p *Pass) Run(ctx context.Context, c *Crew) error { return p.run(ctx, c, nil) }

// run is Run for a pass and those that branch off it.
func (p *Pass) run(ctx context.Context, c *Crew, branches []*Pass) error {
	space := <-c.spaces
	defer func() { c.spaces <- space }()
	batches := 1
	if c.jobs > 1 {
		batches = batchesInWork
	}
	return p.lanes(space.fit(batches, len(p.links)+1, p.info.Channels, branches...), c.tokens,
		branches...).run(ctx)
}

// batchesInWork is how many batches of a track may be in work where several
// processors may be at work on it. With fewer, they wait for each other.
const batchesInWork = 4

// ceilingAt is the ceiling in force at boundary k of a chain, in dBFS: that of
// the last stage before it that has one, or else the release's.
func ceilingAt(k int, chain []stages.Use, release float64) float64 {
	for k--; k >= 0; k-- {
		if db, ok := chain[k].Settings.CeilingDBFS(); ok {
			return db
		}
	}
	return release
}
