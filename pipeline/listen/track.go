package listen

import (
	"cmp"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/coder"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// A track is what can be switched between: the mix first, then what was rendered from it.
type track struct {
	name    string
	bench   *coder.Bench
	moments []moment
	peaks   along.Levels // of a master, a column each; nil: not known

	mu      sync.Mutex // of all below, and of the files
	done    bool
	closed  bool
	sources []*source
	notes   []string // on what is left out
	block   stages.Block
	spread  float64 // LU between the loudest and the quietest as they are played
}

// A moment is a place that is worth listening to.
type moment struct {
	TimeS float64 `json:"time_s"`
	Text  string  `json:"text"`
	worse float64 // sorts those of a sort
	heard bool    // furthest over the mask; else a deepest cut
}

// mostMoments of each sort are told, and no two within apartS.
const (
	mostMoments = 10
	apartS      = 0.5
)

func momentsOf(t *ledger.Track) (all []moment) {
	if t.Whole == nil {
		return nil
	}
	if a := t.Whole.Audibility; a != nil {
		for _, m := range a.Moments {
			all = append(all, moment{
				m.TimeS, fmt.Sprintf("%.1f dB over the mask near %s", m.OverMaskDB, hertz((m.FromHz+m.ToHz)/2)),
				m.OverMaskDB, true,
			})
		}
	}
	for _, c := range t.Whole.DeepestCuts {
		if c.CutDB != nil {
			all = append(all, moment{c.TimeS, fmt.Sprintf("cut by %.1f dB", *c.CutDB), *c.CutDB, false})
		}
	}
	return all
}

func hertz(f float64) string {
	if f < 995 {
		return fmt.Sprintf("%.0f Hz", f)
	}
	return fmt.Sprintf("%.1f kHz", f/1000)
}

// worst are the moments of all renders in the order in which they are to be heard: those over the mask first,
// each sort from the worst down.
func worst(all []moment) []moment {
	slices.SortStableFunc(all, func(a, b moment) int {
		if a.heard != b.heard {
			if a.heard {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.worse, a.worse)
	})
	kept := []moment{}
	count := map[bool]int{}
	for _, m := range all {
		near := slices.ContainsFunc(kept, func(k moment) bool { return math.Abs(k.TimeS-m.TimeS) < apartS })
		if !near && count[m.heard] < mostMoments {
			kept = append(kept, m)
			count[m.heard]++
		}
	}
	return kept
}

// matchLU is how near to each other the loudnesses of all sources are.
const matchLU = 0.01

// prepare opens, hashes and matches the sources, once.
func (t *track) prepare(ctx context.Context, scratch string) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch {
	case t.closed:
		return errNone
	case t.done:
		return nil
	}
	if err := t.open(ctx, scratch); err != nil {
		return err
	}
	loud := make([]float64, len(t.sources)) // as far as is known
	for i, s := range t.sources {
		if loud[i] = math.Inf(-1); s.was != nil {
			loud[i] = *s.was
		}
	}
	const passes = 4
	for pass := 1; ; pass++ {
		match(t.sources, loud)
		if err := t.read(ctx); err != nil {
			return err
		}
		for i, s := range t.sources {
			loud[i] = s.LoudnessLUFS
		}
		if t.spread = spread(t.sources); t.spread <= matchLU && top(t.sources) == 0 {
			break
		}
		if pass == passes {
			return fmt.Errorf("the loudnesses stay %.3f LU apart: it has too little signal to be matched", t.spread)
		}
	}
	for _, s := range t.sources {
		if s.SHA256 != s.recorded {
			t.notes = append(t.notes, s.Name+" is not what the ledger records.")
		}
	}
	first := t.sources[0].file.Info()
	t.block = stages.NewBlock(first.Channels, batch)
	t.moments = worst(t.moments)
	t.done = true
	return nil
}

// open opens the files. The rate is that of the first master, and what has another is converted to it to be
// heard. What cannot be played beside the rest is left out.
func (t *track) open(ctx context.Context, scratch string) error {
	t.notes = nil
	kept := t.sources[:0:0]
	for i, s := range t.sources {
		err := s.open()
		if err == nil {
			err = s.code(ctx, t.bench, scratch)
		}
		if err != nil {
			if i < 2 || ctx.Err() != nil {
				return err
			}
			s.leave()
			t.notes = append(t.notes, fmt.Sprintf("%s is left out: %v.", s.Name, err))
			continue
		}
		kept = append(kept, s)
	}
	t.sources = kept
	want := t.sources[1].file.Info()
	for _, s := range t.sources {
		is := s.file.Info()
		if is.Channels != want.Channels {
			return fmt.Errorf("%s has %s, %s %d", s.File, channels(is.Channels), t.sources[1].File, want.Channels)
		}
		if err := s.convert(ctx, want.Rate, scratch); err != nil {
			return err
		}
		if s.FileHz != 0 {
			t.notes = append(t.notes, fmt.Sprintf("%s is converted from %d Hz to be heard beside the rest.", s.Name,
				s.FileHz))
		}
	}
	return nil
}

func channels(n int) string {
	if n == 1 {
		return "1 channel"
	}
	return fmt.Sprintf("%d channels", n)
}

// match sets gains that bring sources of these loudnesses, LUFS, to the quietest. What has none is left as it
// is.
func match(sources []*source, loud []float64) {
	least := math.Inf(1)
	for _, l := range loud {
		if !math.IsInf(l, 0) {
			least = min(least, l)
		}
	}
	for i, s := range sources {
		s.turn(0)
		if !math.IsInf(loud[i], 0) {
			s.turn(least - loud[i])
		}
	}
}

// read reads all sources through, as many at once as there are processors.
func (t *track) read(ctx context.Context) error {
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(2)
	for _, s := range t.sources {
		g.Go(func() error { return s.read(ctx) })
	}
	return g.Wait()
}

// spread is how far the loudnesses are apart as they are played, LU, of those that have one.
func spread(sources []*source) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	for _, s := range sources {
		if l := s.MatchedLUFS; !math.IsInf(l, 0) {
			least, most = min(least, l), max(most, l)
		}
	}
	return max(0, most-least)
}

// top is the highest gain, dB: 0 if nothing is turned down further than it must be.
func top(sources []*source) float64 {
	g := math.Inf(-1)
	for _, s := range sources {
		g = max(g, s.GainDB)
	}
	return g
}

// frames is the length of the longest source.
func (t *track) frames() (n int64) {
	for _, s := range t.sources {
		n = max(n, s.file.Info().Frames)
	}
	return n
}

// blocks is how many blocks there are.
func (t *track) blocks() int64 { return (t.frames() + batch - 1) / batch }

// blockOf is block n of some sources by their numbers: float32, low byte first, source after source, channel
// after channel.
func (t *track) blockOf(n int64, numbers []int) ([]byte, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.closed || n < 0 || n >= t.blocks() {
		return nil, errNone
	}
	each := len(t.block) * batch * 4
	out := make([]byte, 0, each*len(numbers))
	for i, k := range numbers {
		if at := slices.Index(numbers[:i], k); at >= 0 {
			out = append(out, out[at*each:(at+1)*each]...)
			continue
		}
		s := t.sources[k]
		if err := s.at(n*batch, t.block); err != nil {
			return nil, err
		}
		for _, x := range t.block {
			for _, v := range x {
				out = binary.LittleEndian.AppendUint32(out, math.Float32bits(s.played(v)))
			}
		}
	}
	return out, nil
}

func (t *track) close() {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.closed = true
	for _, s := range t.sources {
		if s.file != nil {
			_ = s.file.Close()
		}
	}
}
