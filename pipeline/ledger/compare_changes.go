package ledger

import (
	"cmp"
	"fmt"
	"path"
	"slices"
)

// changeList gathers what was changed; what was changed alike in several tracks
// is one change.
type changeList struct {
	pairs int // tracks that both ledgers have
	said  int // how often add was called
	list  []*Change
	byKey map[string]*Change

	unexplained []pair // of another recipe, although nothing of the track was changed
}

// add records a change of one track.
func (l *changeList) add(ref TrackRef, c Change) {
	l.said++
	key := fmt.Sprintf("%q %q %q %#v %#v", c.What, c.Stage, c.Key, c.Old, c.New)
	known := l.byKey[key]
	if known == nil {
		if l.byKey == nil {
			l.byKey = map[string]*Change{}
		}
		known = &c
		l.list, l.byKey[key] = append(l.list, known), known
	}
	known.Tracks = append(known.Tracks, ref)
}

// release adds what was changed in the release itself.
func (l *changeList) release(old, new *Ledger) {
	differ := func(what string, o, n any) {
		if o != n {
			l.said++
			l.list = append(l.list, &Change{What: what, Old: o, New: n, Tracks: []TrackRef{}})
		}
	}
	differ(WhatTool, old.Tool, new.Tool)
	differ(WhatTitle, old.Title, new.Title)
	differ(WhatCeiling, old.CeilingDBFS, new.CeilingDBFS)
	if len(old.Order)+len(new.Order) > 0 {
		differ(WhatOrder, listed(old.InOrder()), listed(new.InOrder()))
	}
	differ(WhatGaps, listed(old.GapsS), listed(new.GapsS))
}

// track adds what was changed in a track: its mix, its output, its chain.
func (l *changeList) track(p pair) {
	mix := func(key string, o, n any) {
		if o != n {
			l.add(p.ref, Change{What: WhatMix, Key: key, Old: o, New: n})
		}
	}
	o, n := p.old.Source, p.new.Source
	mix("sha256", o.SHA256, n.SHA256)
	if path.Dir(o.File) != path.Dir(n.File) {
		mix("folder", path.Dir(o.File), path.Dir(n.File))
	} else {
		mix("file", o.File, n.File)
	}
	mix("encoding", o.Encoding, n.Encoding)
	mix("rate_hz", o.RateHz, n.RateHz)
	mix("channels", o.Channels, n.Channels)
	mix("duration_s", o.DurationS, n.DurationS)
	l.output(p.ref, p.old.Output, p.new.Output)
	l.extra(p.ref, "removed", p.old.Removed, p.new.Removed)
	l.extra(p.ref, "matched", p.old.Matched, p.new.Matched)
	l.chain(p)
	l.written(p)
	if o, n := p.old.heard(), p.new.heard(); o != nil && n != nil && o.LevelDBSPL != n.LevelDBSPL {
		l.add(p.ref, Change{What: WhatLevel, Old: o.LevelDBSPL, New: n.LevelDBSPL})
	}
}

// output adds what was changed in a track's output.
func (l *changeList) output(ref TrackRef, o, n Output) {
	if o.Encoding != n.Encoding {
		l.add(ref, Change{What: WhatEncoding, Old: o.Encoding, New: n.Encoding})
	}
	if o.DiscFrames != n.DiscFrames {
		l.add(ref, Change{What: WhatDiscFrames, Old: o.DiscFrames, New: n.DiscFrames})
	}
	switch from, to := path.Dir(o.File), path.Dir(n.File); {
	case from != to:
		l.add(ref, Change{What: WhatFolder, Old: from, New: to})
	case o.File != n.File:
		l.add(ref, Change{What: WhatFile, Old: o.File, New: n.File})
	}
}

// extra adds a file beside the output that is now written and was not, or the other way
// round.
func (l *changeList) extra(ref TrackRef, key string, o, n *Extra) {
	switch {
	case o == nil && n != nil:
		l.add(ref, Change{What: WhatExtra, Key: key, New: path.Dir(n.File)})
	case o != nil && n == nil:
		l.add(ref, Change{What: WhatExtra, Key: key, Old: path.Dir(o.File)})
	}
}

// finish is the list in order. A changed meaning of the release file is listed only if
// nothing else explains it, such as tracks that came or went.
func (l *changeList) finish(old, new *Ledger) []Change {
	sameTracks := l.pairs == len(old.Tracks) && l.pairs == len(new.Tracks)
	if len(l.list) == 0 && sameTracks && old.ReleaseSHA256 != new.ReleaseSHA256 {
		return []Change{{What: WhatRelease, Old: old.ReleaseSHA256, New: new.ReleaseSHA256, Tracks: []TrackRef{}}}
	}
	rank := func(c *Change) int {
		switch {
		case len(c.Tracks) == 0:
			return 0
		case c.Every:
			return 1
		}
		return 2
	}
	done := make([]Change, len(l.list))
	for _, c := range l.list {
		c.Every = len(c.Tracks) > 0 && len(c.Tracks) == l.pairs
	}
	slices.SortStableFunc(l.list, func(a, b *Change) int { return cmp.Compare(rank(a), rank(b)) })
	for i, c := range l.list {
		done[i] = *c
	}
	return done
}
