package track

import (
	"context"
	"errors"
	"reflect"
	"sync"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// A Tree is several chains that one mix goes down at once. What two of them begin with is rendered and
// read once for both: a pass branches off an earlier one where its chain, or what its holds aim at, is
// another. What comes of a chain is the same as in a pass by itself.
type Tree struct {
	// Passes are those of the chains, in their order; nil where the chain cannot be had at the mix's form.
	Passes []*Pass
	errs   []error // why; the same order
	made   []*Pass // those that there are
}

// A Branch is one of a tree's chains.
type Branch struct {
	Chain []stages.Use
	Tries *Tries // what its holds aim at; nil: their ceilings
}

// branch is where a pass branches off another of its tree. The zero branch is that of a pass by itself.
type branch struct {
	of     *Pass // nil: it is the first, which reads the mix
	shared int   // how many stages are the other's
	number int   // among the batch's branches

	filling [][]*lane // the lanes that fill each boundary

	tree *Tree // nil: the pass is by itself
	mu   sync.Mutex
	err  error // why it has failed, while others of the tree go on
}

// NewTree readies passes through several chains, without meters and without outputs. The options' Tries
// do not count.
func NewTree(in *Input, branches []Branch, o Options) *Tree {
	return newTree(in, in.Info(), nil, branches, o)
}

// newTree readies passes that are fed what comes from a reader. Of several mixes ends are the first frames
// after each.
func newTree(from reader, info audiofile.Info, ends []int64, branches []Branch, o Options) *Tree {
	t := &Tree{Passes: make([]*Pass, len(branches)), errs: make([]error, len(branches))}
	for i, b := range branches {
		o.Tries = b.Tries
		of, shared := t.nearest(b)
		p, err := newPass(from, info, ends, b.Chain, o, of, shared)
		if err != nil {
			t.errs[i] = err
			continue
		}
		p.tries = b.Tries
		if of != nil {
			p.branch.number = len(t.made) - 1
		}
		t.Passes[i], t.made = p, append(t.made, p)
	}
	if len(t.made) > 1 {
		for _, p := range t.made {
			p.branch.tree = t
		}
	}
	return t
}

// nearest is the pass of which a chain shares most, and how many stages.
func (t *Tree) nearest(b Branch) (of *Pass, shared int) {
	for _, p := range t.made {
		n := 0
		for n < min(len(p.chain), len(b.Chain)) && reflect.DeepEqual(p.chain[n], b.Chain[n]) &&
			p.tries.lowerDB(n) == b.Tries.lowerDB(n) &&
			limitsLike(n, p.chain, p.tries, b.Chain, b.Tries) {
			n++
		}
		if of == nil || n > shared {
			of, shared = p, n
		}
	}
	return of, shared
}

// Err is why a chain's pass cannot be had, or failed; nil: it did not.
func (t *Tree) Err(i int) error {
	if t.Passes[i] == nil {
		return t.errs[i]
	}
	return t.Passes[i].failure()
}

// Each calls do for every pass that there is. One for which it fails has failed; the others go on.
func (t *Tree) Each(do func(i int, p *Pass) error) {
	for i, p := range t.Passes {
		if p != nil && p.failure() == nil {
			if err := do(i, p); err != nil {
				p.fail(err)
			}
		}
	}
}

// Run takes the whole mix down the chains whose passes have not failed. An error is one of all of them.
// The caller holds a token of the crew.
func (t *Tree) Run(ctx context.Context, c *Crew) error {
	if t.Failed() {
		return nil
	}
	err := t.made[0].run(ctx, c, t.made[1:])
	if errors.Is(err, errNoMore) {
		return nil
	}
	return err
}

// Failed says whether every chain has failed.
func (t *Tree) Failed() bool {
	for i := range t.Passes {
		if t.Err(i) == nil {
			return false
		}
	}
	return true
}

// Measure puts meters at every boundary of every chain, and at what is removed. Headroom is counted down from
// the release's ceiling, dBFS.
func (t *Tree) Measure(ceilingDBFS float64) {
	for _, p := range t.made {
		p.Measure(ceilingDBFS)
	}
}

// Abort leaves nothing of the files that are not finished.
func (t *Tree) Abort() {
	for _, p := range t.made {
		p.Abort()
	}
}

// has says whether stage k is the pass's own, and not that of the one it branches off.
func (b *branch) has(k int) bool { return b.of == nil || k >= b.shared }

// reads says whether boundary k is the pass's own.
func (b *branch) reads(k int) bool { return b.of == nil || k > b.shared }

// metersOwn says whether the meter of boundary k is the pass's own: where it has a boundary in common with
// the other, but is judged there and the other is not, or the other way round, each has its own meter.
func (p *Pass) metersOwn(k int) bool {
	return p.branch.reads(k) || p.meters[k] != p.branch.of.meters[k]
}

// joined is the pass that a part is one of, or the pass itself.
func (p *Pass) joined() *Pass {
	if p.part.of != nil {
		return p.part.of
	}
	return p
}

func (p *Pass) fail(err error) {
	p.branch.mu.Lock()
	defer p.branch.mu.Unlock()
	if p.branch.err == nil {
		p.branch.err = err
	}
}

func (p *Pass) failure() error {
	p.branch.mu.Lock()
	defer p.branch.mu.Unlock()
	return p.branch.err
}

// alone is the work of a lane that, where other chains can go on without the pass, fails the pass alone.
func (p *Pass) alone(work func(*batch) error) func(*batch) error {
	p = p.joined()
	if p.branch.tree == nil {
		return work
	}
	return func(b *batch) error {
		if p.failure() != nil {
			return nil
		}
		if err := work(b); err != nil {
			p.fail(err)
			if p.branch.tree.Failed() {
				return errNoMore
			}
		}
		return nil
	}
}

// errNoMore ends a run of which every chain has failed.
var errNoMore = errors.New("every chain has failed")
