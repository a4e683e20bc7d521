package inspect

import (
	"testing"

	"ledgerline/stages"
)

// BenchmarkScan is what is done to a stereo mix besides reading it.
func BenchmarkScan(b *testing.B) {
	block := stages.Block{coded(sine(8192, 170, 0.5), 24), coded(sine(8192, 36, 0.5), 24)}
	s := newScan(2, 24)
	b.SetBytes(2 * 8192 * 3) // of a 24-bit file
	b.ReportAllocs()
	for b.Loop() {
		s.add(block)
	}
}
