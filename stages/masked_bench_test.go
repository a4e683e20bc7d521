package stages_test

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

// What it costs depends on how much is over.
func BenchmarkMaskedClip(b *testing.B) {
	for _, share := range []float64{0, 0.02, 0.08, 0.15} {
		b.Run(fmt.Sprintf("%v%% over", 100*share), func(b *testing.B) {
			stagetest.Bench(b, maskedClipAt(0), stages.Block{overs(b, share)})
		})
	}
}

// At most 3 MB a channel, at every usual rate. (200 kHz takes 3.13.)
func TestMaskedClipMemory(t *testing.T) {
	const most, channels = 3e6, 2
	rates := []int{32000, 100000, 192000, 44100, 50000, 96000}
	for _, rate := range rates[:long.Or(2, 6)] {
		in, dst := stages.NewBlock(channels, 4096), stages.NewBlock(channels, 8192)
		random := rand.New(rand.NewPCG(1, 2))
		for c := range in {
			for n := range in[c] {
				in[c][n] = 0.4 * random.NormFloat64() // 1 % over
			}
		}
		before := heap()
		s := maskedClipAt(0)(stages.Format{Rate: rate, Channels: channels})
		for range rate / 4 / 4096 { // until all is in flight that can be
			dst = s.Process(dst.Empty(), in)
		}
		each := float64(heap()-before) / channels
		t.Logf("%d Hz: %.2f MB a channel", rate, each/1e6)
		if each > most {
			t.Errorf("%d Hz: %.2f MB a channel, want %.2f at most", rate, each/1e6, most/1e6)
		}
		runtime.KeepAlive(s)
	}
}

// heap is how many bytes are in use.
func heap() int64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}
