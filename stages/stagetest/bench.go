package stagetest

import (
	"testing"
	"time"

	"ledgerline/stages"
)

// Bench measures a stage on a signal, given over and over in blocks of a usual
// length into memory that is used again.
func Bench(b *testing.B, make Maker, in stages.Block) {
	s, dst := make(Options{}.format(len(in))), stages.NewBlock(len(in), 2*block)
	var blocks []stages.Block
	for at := 0; at+block <= in.Frames(); at += block {
		blocks = append(blocks, in.Slice(at, at+block))
	}
	for _, in := range blocks {
		dst = s.Process(dst.Empty(), in)
	}
	samples := len(in) * block
	b.SetBytes(int64(8 * samples))
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		dst = s.Process(dst.Empty(), blocks[n%len(blocks)])
		n++
	}
	b.ReportMetric(float64(b.Elapsed())/float64(time.Nanosecond)/float64(n*samples), "ns/sample")
}
