package stages

import (
	"testing"

	"ledgerline/stages/kernel"
)

// The first words of SplitMix64 for the seeds 0 and 1234567, as they go round
// as test vectors of that generator (from memory; an independent program of
// the published formula gives the same).
func TestRandomWordsOfSplitMix64(t *testing.T) {
	for _, c := range []struct {
		key  uint64
		want []uint64
	}{
		{0, []uint64{0xe220a8397b1dcdaf}},
		{
			1234567, []uint64{
				6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821,
			},
		},
	} {
		for n, want := range c.want {
			if got := kernel.RandomWord(randomState(c.key, int64(n)) + kernel.RandomStep); got != want {
				t.Errorf("key %d, word %d: %d, want %d", c.key, n, got, want)
			}
		}
	}
}

// Keys must differ wherever seeds do, also where a seed moves to another place.
func TestRandomKeysDiffer(t *testing.T) {
	seen := map[uint64][]uint64{}
	for seed := range uint64(20) {
		for track := range uint64(20) {
			for channel := range uint64(6) {
				key := randomKey(seed, track, channel)
				if other, ok := seen[key]; ok {
					t.Fatalf("%v and %v have one key", other, []uint64{seed, track, channel})
				}
				seen[key] = []uint64{seed, track, channel}
			}
		}
	}
}
