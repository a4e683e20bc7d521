package meter

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// awkward is a signal with something for every figure to find: overs, samples
// that are no numbers, an offset, and a peak between samples at its end.
func awkward(rate, channels int, seconds float64) stages.Block {
	b := make(stages.Block, 0, channels)
	for c := range channels {
		b = append(b, programme(rate, seconds, uint64(c))[c%2])
		for i := range b[c] {
			b[c][i] = 1.3*b[c][i] + 0.01
		}
	}
	n := b.Frames()
	b[channels-1][n/3] = math.NaN()
	b[0][n/2] = math.Inf(-1)
	b[0][n-2], b[0][n-1] = 1.2, 1.2
	return b
}

// writeBy writes b in blocks of the given lengths, in turn.
func writeBy(m *Meter, b stages.Block, lengths ...int) {
	for from, i := 0, 0; from < b.Frames(); i++ {
		to := min(b.Frames(), from+lengths[i%len(lengths)])
		m.Write(b.Slice(from, to))
		from = to
	}
}

// TestAnySplit: block lengths change no figure, not by one bit.
func TestAnySplit(t *testing.T) {
	for _, c := range []struct{ rate, channels int }{
		{11025, 3}, {8000, 1}, {44100, 2}, {48000, 6}, {22050, 2},
	}[:long.Or(2, 5)] {
		o := Options{Rate: c.rate, Weights: Weights(c.channels, 0), Ceiling: 0.97}
		b := awkward(c.rate, c.channels, 3.3)
		want := read(o, b)
		if want.NonFinite != 2 || want.Overs == 0 || math.IsInf(want.MaxShortTerm, -1) {
			t.Fatalf("the signal has too little to find: %+v", want)
		}
		r := rand.New(rand.NewPCG(4, 4))
		random := make([]int, 100)
		for i := range random {
			random[i] = r.IntN(3000)
		}
		for _, lengths := range [][]int{
			{1}, {2}, {3}, {4}, {5}, {6}, {7}, {63}, {64}, {65}, {440}, {441}, {442}, {479}, {1009}, {1023}, {1024},
			{1025}, {4096}, {65537}, {0, 1, 0, 4095}, random,
		} {
			m := New(o)
			writeBy(m, b, lengths...)
			if got := m.Reading(); !reflect.DeepEqual(got, want) {
				t.Errorf("%d Hz, blocks of %v frames:\ngot  %+v\nwant %+v", c.rate, lengths[:min(4, len(lengths))],
					got, want)
			}
		}
	}
}

// TestReadingDisturbsNothing: a meter that is read all the time ends like one
// that is not, and what it says on the way is what a meter says that heard no
// more than that.
func TestReadingDisturbsNothing(t *testing.T) {
	for _, rate := range []int{44100, 11025} {
		o := Options{Rate: rate, Weights: ones(2), Ceiling: 0.97}
		b := awkward(rate, 2, 0.9)
		m := New(o)
		m.Reading()
		for from, i := 0, 0; from < b.Frames(); i++ {
			to := min(b.Frames(), from+1+i*37%800)
			m.Write(b.Slice(from, to))
			got := m.Reading()
			if want := read(o, b.Slice(0, to)); !reflect.DeepEqual(got, want) {
				t.Fatalf("%d Hz, after %d frames:\ngot  %+v\nwant %+v", rate, to, got, want)
			}
			from = to
		}
	}
}

// TestReadingIsACopy: what the caller does to a reading does not reach the meter.
func TestReadingIsACopy(t *testing.T) {
	o := Options{Rate: 44100, Weights: ones(2), Ceiling: 0.5}
	b := programme(44100, 1, 1)
	m := New(o)
	m.Write(b)
	r := m.Reading()
	r.DC[0], r.WorstOvers[0] = 7, Over{}
	if got, want := m.Reading(), read(o, b); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// TestWriteKeepsNothing: the block may be used for something else at once.
func TestWriteKeepsNothing(t *testing.T) {
	o := Options{Rate: 44100, Weights: ones(2)}
	b := awkward(44100, 2, 0.5)
	want := read(o, b)
	m, buffer := New(o), stages.NewBlock(2, 1000)
	for from := 0; from < b.Frames(); from += 1000 {
		part := b.Slice(from, min(b.Frames(), from+1000))
		use := buffer.Empty().Append(part)
		m.Write(use)
		for _, x := range use {
			for i := range x {
				x[i] = 99
			}
		}
	}
	if got := m.Reading(); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// TestWriteLeavesTheBlock: samples that are no numbers stay what they are.
func TestWriteLeavesTheBlock(t *testing.T) {
	b := awkward(44100, 1, 0.5)
	want := fmt.Sprint(b)
	read(Options{Rate: 44100, Weights: ones(1)}, b)
	if fmt.Sprint(b) != want {
		t.Error("the block has changed")
	}
}

func TestNoAllocation(t *testing.T) {
	m := New(Options{Rate: 44100, Weights: ones(2), Ceiling: 0.5})
	b := programme(44100, 1, 1)
	n := testing.AllocsPerRun(20, func() { m.Write(b) })
	if n > 0 {
		t.Errorf("%g allocations a second of signal", n)
	}
}

// TestWhereItLies: what is read in a caller's block, in long ones most of it, reads as in blocks that are too
// short for that, and the block may be used for something else at once.
func TestWhereItLies(t *testing.T) {
	b := programme(44100, 2, 1)
	for _, odd := range []int{-1, 9000} { // from a sample that is no number on, nothing is read there
		if odd > 0 {
			b[1][odd] = math.NaN()
		}
		for _, whole := range []bool{false, true} {
			o := Options{Rate: 44100, Weights: ones(len(b)), Ceiling: 0.5, WholeBand: whole}
			short := New(o)
			writeBy(short, b, 500)
			want := short.Reading()
			for _, length := range []int{1472, 4096, 5000, 20000} {
				m, buffer := New(o), stages.NewBlock(len(b), 0)
				for from := 0; from < b.Frames(); from += length {
					buffer = buffer.Empty().Append(b.Slice(from, min(b.Frames(), from+length)))
					m.Write(buffer)
					for _, x := range buffer {
						for i := range x {
							x[i] = 99
						}
					}
				}
				if got := m.Reading(); !reflect.DeepEqual(got, want) {
					t.Errorf("blocks of %d, whole band %v:\ngot  %+v\nwant %+v", length, whole, got, want)
				}
			}
		}
	}
}
