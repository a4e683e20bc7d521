package track

import (
	"context"
	"runtime"

	"golang.org/x/sync/errgroup"
	"golang.org/x/sync/semaphore"
)

// A Crew is the processors and the memory that the tracks in work share: any of them
// may help with any track.
type Crew struct {
	jobs   int
	tokens *semaphore.Weighted // one for each job: whoever computes holds one
	spaces chan *workspace
}

// NewCrew keeps that many processors busy; 0 or less: all there are.
func NewCrew(jobs int) *Crew {
	if jobs <= 0 {
		jobs = runtime.GOMAXPROCS(0)
	}
	c := &Crew{jobs: jobs, tokens: semaphore.NewWeighted(int64(jobs)), spaces: make(chan *workspace, jobs)}
	for range jobs {
		c.spaces <- &workspace{}
	}
	return c
}

// Each calls do for every given number, several at once. Each call holds a
// token, unless ctx is done.
func (c *Crew) Each(ctx context.Context, numbers []int, do func(context.Context, int)) {
	var g errgroup.Group
	g.SetLimit(c.jobs)
	for _, i := range numbers {
		g.Go(func() error {
			if c.tokens.Acquire(ctx, 1) == nil {
				defer c.tokens.Release(1)
			}
			do(ctx, i)
			return nil
		})
	}
	_ = g.Wait()
}

// Take takes a token if one is free.
func (c *Crew) Take() bool { return c.tokens.TryAcquire(1) }

// Give gives a token back.
func (c *Crew) Give() { c.tokens.Release(1) }

// Lend calls do, which waits for the disk, and lets other tracks have the
// caller's token meanwhile. The caller holds one, and holds one again when Lend
// returns or panics.
func (c *Crew) Lend(do func() error) error {
	c.tokens.Release(1)
	// Not with the run's context: a caller that is cancelled also releases its
	// token in the end, so it must have one.
	defer func() { _ = c.tokens.Acquire(context.Background(), 1) }()
	return do()
}
