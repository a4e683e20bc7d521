package track

import (
	"context"
	"errors"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/sync/semaphore"

	"ledgerline/stages"
)

// counting is a track of n batches whose lanes only note what they are given:
// first, then two that follow it, then one that follows both of these.
type counting struct {
	*lanes
	made int
	seen [4][]int
}

func newCounting(n, batches, tokens int) *counting {
	c := &counting{lanes: newLanes(make([]batch, batches), semaphore.NewWeighted(int64(tokens)))}
	note := func(i int) func(*batch) error {
		return func(b *batch) error {
			c.seen[i] = append(c.seen[i], int(b.in[0][0]))
			return nil
		}
	}
	first := c.add("first", nil, func(b *batch) error {
		b.in = stages.Block{{float64(c.made)}}
		c.made++
		b.last = c.made == n
		return note(0)(b)
	})
	a := c.add("a", []*lane{first}, note(1))
	second := c.add("b", []*lane{first}, note(2))
	c.add("c", []*lane{a, second}, note(3))
	return c
}

func TestLanesTakeEveryBatchInOrder(t *testing.T) {
	for _, tokens := range []int{1, 2, 3, 8} {
		for _, batches := range []int{1, 2, 5} {
			c := newCounting(300, batches, tokens)
			if !c.tokens.TryAcquire(1) {
				t.Fatal("no token")
			}
			if err := c.run(context.Background()); err != nil {
				t.Fatal(err)
			}
			c.tokens.Release(1)
			for i, seen := range c.seen {
				if len(seen) != 300 {
					t.Fatalf("%d tokens, %d batches: lane %d saw %d batches of 300", tokens, batches, i, len(seen))
				}
				for n, v := range seen {
					if v != n {
						t.Fatalf("%d tokens, %d batches: lane %d saw batch %d in place %d", tokens, batches, i, v, n)
					}
				}
			}
			if err := c.tokens.Acquire(context.Background(), int64(tokens)); err != nil {
				t.Fatal(err) // a helper still has, or has lost, a token
			}
		}
	}
}

func TestLanesKeepToTheirTokens(t *testing.T) {
	for _, tokens := range []int{1, 2} {
		l := newLanes(make([]batch, 4), semaphore.NewWeighted(int64(tokens)))
		var now, most, made atomic.Int64
		busy := func(*batch) error {
			most.Store(max(most.Load(), now.Add(1)))
			time.Sleep(100 * time.Microsecond)
			now.Add(-1)
			return nil
		}
		first := l.add("first", nil, func(b *batch) error {
			b.last = made.Add(1) == 20
			return busy(b)
		})
		for range 5 {
			l.add("follower", []*lane{first}, busy)
		}
		l.tokens.TryAcquire(1)
		if err := l.run(context.Background()); err != nil {
			t.Fatal(err)
		}
		if got := int(most.Load()); got != tokens {
			t.Errorf("%d lanes were worked on at once with %d tokens", got, tokens)
		}
	}
}

func TestLanesEndOnAFailure(t *testing.T) {
	boom := errors.New("boom")
	for _, tokens := range []int{1, 4} {
		c := newCounting(300, 4, tokens)
		c.add("failing", c.all[:1], func(b *batch) error {
			if b.in[0][0] == 7 {
				return boom
			}
			return nil
		})
		c.tokens.TryAcquire(1)
		if err := c.run(context.Background()); err != boom {
			t.Errorf("%d tokens: got %v, want boom", tokens, err)
		}
		if c.working != 0 {
			t.Errorf("%d tokens: still working after run", tokens)
		}
		if c.made > 20 {
			t.Errorf("%d tokens: %d batches were begun after the failure in batch 7", tokens, c.made)
		}
	}
}

func TestLanesTurnAPanicIntoAnError(t *testing.T) {
	c := newCounting(300, 2, 2)
	c.add("stage glass", c.all[:1], func(b *batch) error { panic("broke") })
	c.tokens.TryAcquire(1)
	err := c.run(context.Background())
	if err == nil || !strings.Contains(err.Error(), "stage glass: broke") ||
		!strings.Contains(err.Error(), "lanes_test.go") {
		t.Errorf("got %v, want the lane's name, what it said and where", err)
	}
}

func TestLanesStopWhenCancelled(t *testing.T) {
	c := newCounting(1<<60, 2, 2)
	ctx, cancel := context.WithCancel(context.Background())
	c.add("watch", c.all[:1], func(b *batch) error {
		if b.in[0][0] == 5 {
			cancel()
		}
		return nil
	})
	c.tokens.TryAcquire(1)
	if err := c.run(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want context.Canceled", err)
	}
}

// A goroutine that waits for a token gets it although there is always more to
// help with.
func TestHelpersMakeRoomForAnotherTrack(t *testing.T) {
	c := newCounting(1<<60, 8, 2)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	c.add("slow", c.all[:1], func(*batch) error { time.Sleep(50 * time.Microsecond); return nil })
	c.tokens.TryAcquire(1)
	done := make(chan error)
	go func() { done <- c.run(ctx) }()
	if err := c.tokens.Acquire(ctx, 1); err != nil {
		t.Fatal(err)
	}
	cancel()
	<-done
}

// oneToken is a semaphore whose one token the caller holds.
func oneToken() *semaphore.Weighted {
	s := semaphore.NewWeighted(1)
	s.TryAcquire(1)
	return s
}
