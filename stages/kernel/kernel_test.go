package kernel

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Every kernel is run with every kind of code that the processor has: on lengths around
// each edge of its loops, at each alignment, with values that are no numbers among the
// others, and with guards around what it writes.

// Values that are hard to bear, finite ones and others.
var (
	oddFinite = []float64{math.Copysign(0, -1), 0, 5e-324, -1e-310, 1e60}
	odd       = append([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, math.MaxFloat64}, oddFinite...)
)

// A maker makes the values of one trial.
type maker struct{ *rand.Rand }

func newMaker(seed int) maker { return maker{rand.New(rand.NewPCG(uint64(seed), 7))} }

// values are n random ones of -1 to 1.
func (m maker) values(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = 2*m.Float64() - 1
	}
	return x
}

// mixed are such values, and some of others among them.
func (m maker) mixed(n int, others []float64) []float64 {
	x := m.values(n)
	if n > 0 {
		for range n/8 + 1 {
			x[m.IntN(n)] = others[m.IntN(len(others))]
		}
	}
	return x
}

const guard = -12345.678

// A buffer is values with guards before and after them.
type buffer struct {
	all    []float64
	values []float64
}

// buffer is a copy of x that begins that many values after a line of the processor's
// cache, or as good as.
func (m maker) buffer(x []float64, offset int) buffer {
	const guards = 8
	all := make([]float64, guards+offset+len(x)+guards)
	for i := range all {
		all[i] = guard
	}
	from := guards + offset
	copy(all[from:], x)
	return buffer{all, all[from : from+len(x) : from+len(x)]}
}

// intact fails the test if a guard has changed.
func (b buffer) intact(t *testing.T, name string) {
	t.Helper()
	from := len(b.all) - 8 - len(b.values)
	for i, v := range b.all {
		if (i < from || i >= from+len(b.values)) && v != guard {
			t.Fatalf("%s: it wrote %v at %d of %d values", name, v, i-from, len(b.values))
		}
	}
}

// A run of a kernel may write y and x, which is longer than y by more values, and
// returns what else came out.
type run struct {
	lengths []int // of y
	more    int
	others  []float64 // among the values
	of      func(m maker, y, x []float64) []float64
}

// A trial is a run on one length: which, and all that came out.
type trial struct {
	name string
	out  []float64
}

// agree runs the kernel in every form and compares what comes out with what the Go
// twins give, bit by bit. A value that is no number may be any that is none.
func agree(t *testing.T, r run) {
	t.Helper()
	want := withFeatures(false, false, func() any { return r.trials(t) }).([]trial)
	inEachForm(func(form string) {
		t.Run(form, func(t *testing.T) {
			for i, got := range r.trials(t) {
				for k, v := range got.out {
					w := want[i].out[k]
					if math.Float64bits(v) != math.Float64bits(w) && (v == v || w == w) {
						t.Fatalf("%s: [%d] is %v, the Go twin gives %v", got.name, k, v, w)
					}
				}
			}
		})
	})
}

// trials are of all lengths at all alignments, with others in every second one.
func (r run) trials(t *testing.T) (trials []trial) {
	for _, n := range r.lengths {
		for offset := range 8 {
			m := newMaker(8*n + offset)
			fill := m.values
			if offset%2 == 1 {
				fill = func(n int) []float64 { return m.mixed(n, r.others) }
			}
			y, x := m.buffer(fill(n), offset), m.buffer(fill(n+r.more), (3*offset+1)%8)
			out := r.of(m, y.values, x.values)
			name := fmt.Sprintf("%d values, %d off", n, offset)
			y.intact(t, name)
			x.intact(t, name)
			trials = append(trials, trial{name, slices.Concat(out, y.values, x.values)})
		}
	}
	return trials
}

// upTo is 0 to n and a few lengths beyond.
func upTo(n int) []int {
	lengths := []int{2*n - 1, 2 * n, 2*n + 1, 4*n + 3, 101}
	for i := range n + 1 {
		lengths = append(lengths, i)
	}
	return lengths
}

var (
	groupsOnly = []int{0, Group, 2 * Group, 3 * Group, 5 * Group}
	nothing    = []int{0} // to write
)

// filterTaps are around each edge of a Filter's loops.
var filterTaps = []int{1, 7, 8, 9, 14, 16, 24, 31, 32, 40, 48, 56, 64, 72, 127, 136, 360}

func TestFilter(t *testing.T) {
	for _, taps := range filterTaps {
		agree(t, run{groupsOnly, taps, odd, func(m maker, y, x []float64) []float64 {
			NewFilter(m.values(taps)).Apply(y, x)
			return nil
		}})
	}
}

func TestZip(t *testing.T) {
	agree(t, run{[]int{0, 2 * Group, 4 * Group, 6 * Group}, 0, odd, func(m maker, y, x []float64) []float64 {
		n := len(y) / 2
		Zip(y, x[:n], x[n:])
		return nil
	}})
}

func TestEvens(t *testing.T) {
	for n := range 20 {
		agree(t, run{[]int{n}, n, odd, func(m maker, y, x []float64) []float64 {
			Evens(y, x)
			return nil
		}})
	}
}

func TestAddScaled(t *testing.T) {
	agree(t, run{upTo(17), 0, odd, func(m maker, y, x []float64) []float64 {
		AddScaled(y, x, m.Float64())
		return nil
	}})
}

func TestAddScaledRows(t *testing.T) {
	for _, stride := range []int{0, 1, 7, 8, 100} {
		agree(t, run{upTo(17), 3 * stride, odd, func(m maker, y, x []float64) []float64 {
			AddScaledRows(y, x, stride, (*[4]float64)(m.mixed(4, odd)))
			return nil
		}})
	}
}

func TestAddScaled16(t *testing.T) {
	agree(t, run{[]int{0, 8, 16, 24, 40, 232}, 0, odd, func(m maker, y, _ []float64) []float64 {
		x := m.buffer(m.mixed(16*len(y), odd), m.IntN(8))
		AddScaled16(y, x.values, (*[16]float64)(m.mixed(16, odd)))
		x.intact(t, "rows")
		return nil
	}})
}

func TestCombine(t *testing.T) {
	agree(t, run{[]int{12}, 12 * 12, odd, func(m maker, y, x []float64) []float64 {
		var rows [12][12]float64
		for i := range rows {
			copy(rows[i][:], x[12*i:])
		}
		Combine((*[12]float64)(y), &rows, (*[12]float64)(x[12*12:]))
		return nil
	}})
}

func TestMeeting(t *testing.T) {
	agree(t, run{nothing, 12, odd, func(m maker, y, x []float64) []float64 {
		meeting := NewMeeting(func(float64) (w [12][12]float64) {
			for j := range w {
				copy(w[j][:], m.mixed(12, oddFinite))
			}
			return w
		})
		var c Crossing
		meeting.Find(&c, (*[12]float64)(x), m.Float64())
		return []float64{c.X, c.D1, c.D2, c.D3, c.Behind, c.Back}
	}})
}

func TestMeetings(t *testing.T) {
	places := [8]int{5, 9, 14, 20, 31, 40, 41, 50}
	for n := 1; n <= len(places); n++ {
		agree(t, run{nothing, 57, odd, func(m maker, y, x []float64) (out []float64) {
			meeting := NewMeeting(func(float64) (w [12][12]float64) {
				for j := range w {
					copy(w[j][:], m.mixed(12, oddFinite))
				}
				return w
			})
			all := Meetings{At: places}
			copy(all.Level[:], m.values(8))
			meeting.FindAll(&all, n, x)
			for i := range n {
				c := all.Crossing(i)
				var alone Crossing
				meeting.Find(&alone, (*[12]float64)(x[places[i]-5:]), all.Level[i])
				for k, pair := range [][2]float64{{c.X, alone.X}, {c.D1, alone.D1}, {c.D2, alone.D2}, {c.D3, alone.D3},
					{c.Behind, alone.Behind}, {c.Back, alone.Back}} {
					if a, b := pair[0], pair[1]; math.Float64bits(a) != math.Float64bits(b) && (a == a || b == b) {
						t.Fatalf("%d together, place %d: figure %d is %v, alone it is %v", n, i, k, a, b)
					}
					out = append(out, pair[0])
				}
			}
			return out
		}})
	}
}

func TestAddCorner(t *testing.T) {
	agree(t, run{[]int{16}, 3*64 - 16, odd, func(m maker, y, x []float64) []float64 {
		var rows [3][4][16]float64
		for i, v := range x {
			rows[i/64][i/16%4][i%16] = v
		}
		AddCorner((*[16]float64)(y), &rows[0], &rows[1], &rows[2], (*[12]float64)(m.mixed(12, odd)))
		return nil
	}})
}

func TestClimb(t *testing.T) {
	agree(t, run{nothing, 20*8 + 20, odd, func(m maker, y, x []float64) []float64 {
		var rows [20][8]float64
		for i := range rows {
			copy(rows[i][:], x[8*i:])
		}
		c := NewClimb(&rows, (*[20]float64)(x[20*8:]))
		return []float64{c.X, c.Height, c.Bend, c.Start}
	}})
}

func TestMaxAbs(t *testing.T) {
	agree(t, run{upTo(66), 0, odd, func(m maker, y, x []float64) []float64 { return []float64{MaxAbs(x)} }})
}

func TestAddBeyond(t *testing.T) {
	agree(t, run{groupsOnly, 0, odd, func(m maker, y, x []float64) []float64 {
		AddBeyond(y, x, 0.6)
		return nil
	}})
}

// words are the halves of words as values.
func words(of ...[]uint64) (y []float64) {
	for _, mask := range of {
		for _, word := range mask {
			y = append(y, float64(uint32(word)), float64(word>>32))
		}
	}
	return y
}

func TestNonZero(t *testing.T) {
	agree(t, run{groupsOnly, 0, oddFinite, func(m maker, y, x []float64) []float64 {
		for i := range x {
			if m.IntN(3) > 0 {
				x[i] = 0
			}
		}
		mask := make([]uint64, (len(x)+63)/64)
		NonZero(mask, x)
		return words(mask)
	}})
}

func TestBeyond(t *testing.T) {
	agree(t, run{groupsOnly, 2, odd, func(m maker, y, x []float64) []float64 {
		n := len(y)
		var sets [3][]uint64
		for i := range sets {
			sets[i] = make([]uint64, (n+63)/64)
		}
		Beyond(x, 2, n, 0.5, sets[0], sets[1], sets[2])
		return words(sets[:]...)
	}})
}

func TestPeaks(t *testing.T) {
	for _, give := range []float64{0.5, 0.125} {
		agree(t, run{groupsOnly, 2, odd, func(m maker, y, x []float64) []float64 {
			mask := make([]uint64, (len(y)+63)/64)
			Peaks(x, 1, len(y), 0.7, give, mask)
			return words(mask)
		}})
	}
}

func TestWeighing(t *testing.T) {
	agree(t, run{upTo(17), 0, oddFinite, func(m maker, y, x []float64) []float64 {
		w := NewWeighing([2]Section{
			{0.8, 0.1, -0.2, m.Float64(), m.Float64()},
			{0.99, 0.01, -1e-5, -m.Float64(), 0.1},
		})
		s := States(m.values(8))
		a, b := w.Sum(x, y, &s)
		return append(s[:], a, b)
	}})
}

func TestScan(t *testing.T) {
	for _, cells := range []int{0, 1, 2, 3, 16} {
		agree(t, run{nothing, 2 + Cell*cells, oddFinite, func(m maker, y, x []float64) []float64 {
			peaks, bends := m.buffer(m.values(cells), 0), m.buffer(m.values(cells), 0)
			sum, squares := Scan(x, peaks.values, bends.values)
			return slices.Concat([]float64{sum, squares}, peaks.all, bends.all)
		}})
		agree(t, run{nothing, 2 + Cell*cells, odd, func(m maker, y, x []float64) []float64 {
			peaks, bends := m.values(cells), m.values(cells)
			_, squares := Scan(x, peaks, bends)
			if squares <= math.MaxFloat64 {
				return []float64{squares}
			}
			return []float64{math.NaN()}
		}})
	}
}

func TestEdge(t *testing.T) {
	agree(t, run{nothing, EdgeTaps - 1 + Cell, odd, func(m maker, y, x []float64) []float64 {
		return []float64{Edge((*[EdgeTaps - 1 + Cell]float64)(x), (*[EdgeTaps]float64)(m.values(EdgeTaps)))}
	}})
}

func TestAbove(t *testing.T) {
	for _, limit := range []float64{0.5, 0, -1, math.NaN(), math.Inf(1)} {
		agree(t, run{nothing, 32, odd, func(m maker, y, x []float64) []float64 {
			return []float64{float64(Above((*[32]float64)(x), limit))}
		}})
	}
}

func TestMayPass(t *testing.T) {
	for _, limit := range []float64{0.3, 1, 2, -1} {
		agree(t, run{nothing, 19, oddFinite, func(m maker, y, x []float64) []float64 {
			e := new(Eighths)
			for i := range e.Even {
				copy(e.Even[i][:], m.values(4))
				copy(e.Odd[i][:3], m.values(3))
			}
			return []float64{float64(e.MayPass(x, limit))}
		}})
	}
}
