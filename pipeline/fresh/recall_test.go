package fresh

import (
	"testing"
	"time"
)

// The hash of a file that was hashed in the very tick in which it was last written is not trusted,
// though the file has the same stamp, unless this run wrote it: somebody may have written to it since.
func TestRecallOfAStampThatHasNotSettled(t *testing.T) {
	at := time.Unix(1000, 500e6)
	long, now := stamp{Written: at.Add(-time.Hour).UnixNano()}, stamp{Written: at.UnixNano()}
	for _, c := range []struct {
		name string
		n    memory
		has  stamp
		want bool
	}{
		{"settled", memory{Sight: Sight{stamp: long}, at: at}, long, true},
		{"not settled", memory{Sight: Sight{stamp: now}, at: at}, now, false},
		{"not settled, but ours", memory{Sight: Sight{stamp: now}, ours: true}, now, true},
		{"another stamp", memory{Sight: Sight{stamp: long}, at: at}, now, false},
		{"ours, of another stamp", memory{Sight: Sight{stamp: long}, ours: true}, now, false},
	} {
		s := &Seen{remembered: map[string]memory{"mix": c.n}}
		if _, ok := s.recall("mix", c.has); ok != c.want {
			t.Errorf("%s: recalled %v, want %v", c.name, ok, c.want)
		}
	}
}
