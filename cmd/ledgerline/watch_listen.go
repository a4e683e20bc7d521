package main

import (
	"context"
	"errors"
	"fmt"

	"golang.org/x/sync/errgroup"

	"ledgerline/pipeline"
	"ledgerline/pipeline/listen"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/watch"
)

// listen watches, and serves a page that plays what is rendered, from the first render on.
func (v *watchVerb) listen(ctx context.Context, s *streams, o pipeline.Options,
	tell func(watch.Event)) error {
	l, err := local()
	if err != nil {
		return err
	}
	server := listen.NewServer(nil, l.Addr())
	defer server.Close()
	tell(watch.Event{Text: server.Address() + "\n" + startLow})
	both, ctx := errgroup.WithContext(ctx) // the end of one is the end of the other
	both.Go(func() error { return server.Serve(ctx, l) })
	both.Go(func() error {
		return watch.Release(ctx, v.Release, o, func(e watch.Event) {
			tell(e)
			if e.Done != nil {
				if err := v.renew(s, server, e.Done); err != nil {
					tell(watch.Event{Text: fmt.Sprintf("the page does not play it: %v", err), Bad: true})
				}
			}
		})
	})
	return s.stopped(nil, both.Wait())
}

// renew has the page play what a run left. Where nothing could be rendered yet, there is nothing to play.
func (v *watchVerb) renew(s *streams, server *listen.Server, rel *release.Release) error {
	room, err := listen.Open(rel, s.heard(rel, v.Track, v.Variant, v.Delivery))
	if errors.Is(err, listen.ErrNothing) {
		return nil
	}
	if err != nil {
		return err
	}
	return server.Renew(room)
}
