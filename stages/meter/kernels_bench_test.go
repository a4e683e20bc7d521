package meter

import "testing"

func BenchmarkScan(b *testing.B) {
	x := programme(44100, 0.5, 1)[0]
	b.SetBytes(int64(8 * cellFrames * (len(x) / cellFrames)))
	for b.Loop() {
		for from := 0; from+cellFrames <= len(x); from += cellFrames {
			scan(x[from : from+cellFrames])
		}
	}
}

func BenchmarkSharpest(b *testing.B) {
	x := programme(44100, 0.5, 1)[0]
	b.SetBytes(int64(8 * cellFrames * (len(x) / cellFrames)))
	for b.Loop() {
		for from := 0; from+cellFrames <= len(x); from += cellFrames {
			sharpest(x[from : from+cellFrames])
		}
	}
}
