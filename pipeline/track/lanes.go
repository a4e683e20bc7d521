package track

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"

	"golang.org/x/sync/semaphore"
)

// A lane is one of the things done to each batch of a track: reading it, a
// stage, a meter, a writer. A lane takes the batches in order, one at a time,
// and each only when the lanes it follows are done with it. Whoever does the
// work of a lane, its batches come in the same order, so that neither the
// number of workers nor their luck changes a result.
type lane struct {
	name    string  // said if it panics
	follows []*lane // none: the first lane, which takes batches as they become free
	work    func(*batch) error

	done int  // batches worked on
	busy bool // someone works on batch number done
	by   int  // the worker who did the last batch, at first run itself: what the lane keeps is in its cache
}

// lanes is a track in work. Any number of goroutines may work on it at once.
type lanes struct {
	tokens  *semaphore.Weighted // one for each processor that may be kept busy
	batches []batch             // batch number n is in batches[n%len]

	mu      sync.Mutex
	changed sync.Cond // a lane's work ended
	all     []*lane   // in the order of the chain; the first reads
	working int       // lanes being worked on
	workers int       // the highest number that one has had; run is worker 0
	free    []int     // numbers that helpers have given back
	ended   bool      // the first lane has made its last batch
	err     error     // the first failure: no more work is begun
}

func newLanes(batches []batch, tokens *semaphore.Weighted) *lanes {
	l := &lanes{batches: batches, tokens: tokens}
	l.changed.L = &l.mu
	return l
}

// add appends a lane that follows the given ones.
func (l *lanes) add(name string, follows []*lane, work func(*batch) error) *lane {
	n := &lane{name: name, follows: follows, work: work}
	l.all = append(l.all, n)
	return n
}

// run works until every lane has done every batch, or one has failed, or ctx
// is cancelled. The caller holds a token. While others are to be had, run lets
// other goroutines work on what can be done at the same time; none is left
// working when it returns.
func (l *lanes) run(ctx context.Context) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	for {
		if err := ctx.Err(); err != nil && l.err == nil {
			l.err = err
		}
		if n := l.next(0); n != nil {
			l.takeUp(n, 0)
		} else if l.working > 0 {
			l.changed.Wait()
		} else {
			return l.err
		}
	}
}

// takeUp has a worker do the next batch of a lane, with l.mu held before and after,
// and first call for help if there is more that could be done at once.
func (l *lanes) takeUp(n *lane, worker int) {
	n.busy, n.by = true, worker
	l.working++
	if l.tokens.TryAcquire(1) { // first, as it costs less than to look for a lane
		if l.next(worker) != nil {
			go l.help()
		} else {
			l.tokens.Release(1)
		}
	}
	b := &l.batches[n.done%len(l.batches)]
	l.mu.Unlock()
	err := n.do(b)
	l.mu.Lock()
	if n == l.all[0] && b.last {
		l.ended = true
	}
	if err != nil && l.err == nil {
		l.err = err
	}
	n.busy = false
	n.done++
	l.working--
	l.changed.Broadcast()
}

// help works, holding a token, for as long as there is something to do at once
// and nobody waits for the token.
func (l *lanes) help() {
	l.mu.Lock()
	defer l.mu.Unlock()
	worker := l.enlist()
	defer func() { l.free = append(l.free, worker) }()
	for {
		n := l.next(worker)
		if n == nil {
			break
		}
		l.takeUp(n, worker)
		l.tokens.Release(1)
		if !l.tokens.TryAcquire(1) {
			return
		}
	}
	l.tokens.Release(1)
}

// enlist returns a number that no other worker has.
func (l *lanes) enlist() int {
	if n := len(l.free); n > 0 {
		worker := l.free[n-1]
		l.free = l.free[:n-1]
		return worker
	}
	l.workers++
	return l.workers
}

// next is a lane with work to do now, or nil: of those that the worker did
// last, or else of all, the one that is furthest behind, and of those the first in the chain.
// So a single worker takes each batch down the whole chain, while it is in the
// processor's cache, before it reads the next one, and several keep to their lanes.
func (l *lanes) next(worker int) *lane {
	if l.err != nil {
		return nil
	}
	var own, least *lane
	for _, n := range l.all {
		if n.busy || !l.ready(n) {
			continue
		}
		if least == nil || n.done < least.done {
			least = n
		}
		if n.by == worker && (own == nil || n.done < own.done) {
			own = n
		}
	}
	if own != nil {
		return own
	}
	return least
}

// ready says whether the lane's next batch is there for it.
func (l *lanes) ready(n *lane) bool {
	for _, f := range n.follows {
		if n.done >= f.done {
			return false
		}
	}
	return n != l.all[0] || !l.ended && n.done-l.behind() < len(l.batches)
}

// behind is the number of batches that all lanes are done with.
func (l *lanes) behind() int {
	least := l.all[0].done
	for _, n := range l.all {
		least = min(least, n.done)
	}
	return least
}

// do is the lane's work on a batch, with a panic turned into an error.
func (n *lane) do(b *batch) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &Panic{n.name, p, debug.Stack()}
		}
	}()
	return n.work(b)
}

// Panic is a panic met at work on one track. The others go on.
type Panic struct {
	where string
	value any
	stack []byte
}

func (p *Panic) Error() string {
	return fmt.Sprintf("internal error in %s: %v\n%s", p.where, p.value, p.stack)
}

// Protect turns a panic in do into an error, so that one track's does not end
// the others.
func Protect[T any](label string, do func() (T, error)) (x T, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &Panic{label, p, debug.Stack()}
		}
	}()
	return do()
}
