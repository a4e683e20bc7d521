package meter

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// clipped is x within a ceiling.
func clipped(x stages.Block, ceiling float64) stages.Block {
	y := stages.NewBlock(len(x), x.Frames())
	for c := range x {
		for i, v := range x[c] {
			y[c][i] = min(max(v, -ceiling), ceiling)
		}
	}
	return y
}

// remove is the reading of a Removal that is given so many frames at once.
func remove(o RemovalOptions, driven, out stages.Block, block int) RemovalReading {
	r := NewRemoval(o)
	for from := 0; from < driven.Frames(); from += block {
		to := min(from+block, driven.Frames())
		r.Write(driven.Slice(from, to), out.Slice(from, to))
	}
	return r.Reading()
}

// A sine A sin(theta) clipped at c = rA, phi = asin(r): the part beyond the clip has,
// by integration, the mean square
//
//	2/pi ((A^2/2 + c^2) (pi/2 - phi) + A^2 sin(2 phi)/4 - 2 A c cos(phi)),
//
// a share of 1 - 2 phi/pi of the samples is clipped, and the deepest cut is 1/r, at the
// peak. Within d to either side of a peak the squares add up to A^2 (d + sin(2d)/2) -
// 4 A c sin(d) + 2 c^2 d, where all of that is clipped, and those of the sine to the
// first of these terms.
func TestRemovalOfAClippedSine(t *testing.T) {
	const rate, seconds = 48000, 2 // half a cycle: one peak, after a second
	for _, r := range []float64{0.9, math.Sqrt(0.5), 0.5, 0.1} {
		const c = 0.7
		a, phi := c/r, math.Asin(r)
		x := stages.NewBlock(1, rate*seconds)
		for i := range x[0] {
			x[0][i] = a * math.Sin(math.Pi*float64(i)/(rate*seconds))
		}
		got := remove(RemovalOptions{Rate: rate, Channels: 1, Ceiling: c}, x, clipped(x, c), 4096)
		square := 2 / math.Pi * ((a*a/2+c*c)*(math.Pi/2-phi) + a*a*math.Sin(2*phi)/4 - 2*a*c*math.Cos(phi))
		near(t, "removed", got.Removed/(rate*seconds), square, 1e-9)
		near(t, "driven", got.Driven/(rate*seconds), a*a/2, 1e-9)
		near(t, "share clipped", float64(got.Clipped)/float64(got.Samples), 1-2*phi/math.Pi, 2./(rate*seconds))
		if len(got.Cuts) == 0 || got.Cuts[0] != (Cut{rate, 0, a / c}) {
			t.Errorf("r = %v: cuts %v, want the deepest at frame %d, by %v", r, got.Cuts, rate, a/c)
		}
		d := 0.2 * math.Pi / seconds
		if d > math.Pi/2-phi {
			continue
		}
		sine := a * a * (d + math.Sin(2*d)/2)
		frames := rate * seconds / math.Pi // in a radian
		near(t, "removed in 400 ms", got.Worst400ms.Removed/frames, sine-4*a*c*math.Sin(d)+2*c*c*d, 1e-8)
		near(t, "driven in 400 ms", got.Worst400ms.Driven/frames, sine, 2e-4) // half a sample at its ends
		near(t, "its start", float64(got.Worst400ms.Frame), 0.8*rate, 0)
	}
}

// bursts is noise whose level jumps about.
func bursts(m *rand.Rand, channels, frames, most int) stages.Block {
	x := stages.NewBlock(channels, frames)
	for at := 0; at < frames; {
		n, level := 1+m.IntN(most), m.NormFloat64()
		for c := range x {
			for i := at; i < min(frames, at+n); i++ {
				x[c][i] = level * m.NormFloat64()
			}
		}
		at += n
	}
	return x
}

// The definitions, one by one, on noise: no matter how it is cut up, the reading is to
// the last bit the same.
func TestRemovalAgainstDefinition(t *testing.T) {
	for seed, c := range []struct{ rate, channels, frames int }{
		{8000, 1, 50000}, {8000, 8, 26001}, {11025, 2, 40000}, {44100, 2, 150001}, {48000, 1, 7}, {22050, 2, 8819},
		{22050, 3, 8821},
		{8000, 1, 23999}, {8000, 1, 24001}, {384000, 1, 160000},
	} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			m := rand.New(rand.NewPCG(uint64(seed), 11))
			o := RemovalOptions{Rate: c.rate, Channels: c.channels, Ceiling: 1}
			x := bursts(m, c.channels, c.frames, c.rate/4)
			y := clipped(x, 1)
			for c := range y { // a stage may change what does not pass the ceiling, too
				for i := range y[c] {
					y[c][i] *= 0.99
				}
			}
			got := remove(o, x, y, c.frames)
			sameRemoval(t, got, removalByDefinition(o, x, y))
			for _, block := range []int{1, 31, 441, 4096} {
				if again := remove(o, x, y, block); !reflect.DeepEqual(again, got) {
					t.Errorf("%d frames at once: %+v\nall at once: %+v", block, again, got)
				}
			}
		})
	}
}

// sameRemoval allows for rounding in sums.
func sameRemoval(t *testing.T, got, want RemovalReading) {
	t.Helper()
	for _, p := range []struct {
		what      string
		got, want float64
	}{
		{"removed", got.Removed, want.Removed}, {"driven", got.Driven, want.Driven},
		{"removed in 400 ms", got.Worst400ms.Removed, want.Worst400ms.Removed},
		{"driven in 400 ms", got.Worst400ms.Driven, want.Worst400ms.Driven},
		{"removed in 3 s", got.Worst3s.Removed, want.Worst3s.Removed}, {
			"driven in 3 s", got.Worst3s.Driven, want.Worst3s.Driven,
		},
	} {
		near(t, p.what, p.got, p.want, 1e-11*p.want)
	}
	if got.Samples != want.Samples || got.Clipped != want.Clipped ||
		got.Worst400ms.Frame != want.Worst400ms.Frame ||
		got.Worst3s.Frame != want.Worst3s.Frame || !slices.Equal(got.Cuts, want.Cuts) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// removalByDefinition is slow.
func removalByDefinition(o RemovalOptions, x, y stages.Block) RemovalReading {
	frames := int64(x.Frames())
	energy := func(from, to int64) (w RemovalWindow) {
		w.Frame = from
		for c := range x {
			for i := from; i < min(to, frames); i++ {
				w.Removed += (x[c][i] - y[c][i]) * (x[c][i] - y[c][i])
				w.Driven += x[c][i] * x[c][i]
			}
		}
		return w
	}
	all := energy(0, frames)
	r := RemovalReading{Samples: frames * int64(len(x)), Removed: all.Removed, Driven: all.Driven}
	starts := []int64{}
	for k := 0; ; k++ {
		s := int64(math.Floor(float64(k)*float64(o.Rate)/100 + 0.5))
		starts = append(starts, s)
		if s >= frames {
			break
		}
	}
	var each []RemovalWindow
	for k := range len(starts) - 1 {
		each = append(each, energy(starts[k], starts[k+1]))
	}
	worst := func(n int) (w RemovalWindow) {
		for k := range each {
			v := RemovalWindow{Frame: each[k].Frame}
			for _, e := range each[k:min(k+n, len(each))] {
				v.Removed += e.Removed
				v.Driven += e.Driven
			}
			if v.Removed > w.Removed*(1+1e-12) && (k+n <= len(each) || k == 0) {
				w = v
			}
		}
		return w
	}
	r.Worst400ms, r.Worst3s = worst(40), worst(300)
	deepest := map[int64]Cut{} // of each millisecond
	for i, k := int64(0), 0; i < frames; i++ {
		for starts[k+1] <= i {
			k++
		}
		ms := int64(100*k) + (i-starts[k])*1000/int64(o.Rate)
		for c := range x {
			if math.Abs(x[c][i]) <= o.Ceiling {
				continue
			}
			r.Clipped++
			if by := math.Abs(x[c][i]) / math.Abs(y[c][i]); by > max(1, deepest[ms].By) {
				deepest[ms] = Cut{i, c, by}
			}
		}
	}
	inTime := func(v, w Cut) int { return int(v.Frame - w.Frame) }
	r.Cuts = spacedByDefinition(slices.SortedFunc(maps.Values(deepest), inTime), o.Rate)
	return r
}

// spacedByDefinition takes the deepest, strikes out all within 50 ms, and so on.
func spacedByDefinition(cuts []Cut, rate int) (told []Cut) {
	cuts = slices.Clone(cuts)
	for len(cuts) > 0 && len(told) < 10 {
		best := cuts[0]
		for _, v := range cuts {
			if v.By > best.By {
				best = v
			}
		}
		told = append(told, best)
		cuts = slices.DeleteFunc(cuts, func(v Cut) bool {
			return math.Abs(float64(v.Frame-best.Frame))/float64(rate) <= 0.05
		})
	}
	return told
}

// Cuts may be forgotten only where nothing that follows can make them count, and
// memory does not grow.
func TestDeepestCutsOfALongTrack(t *testing.T) {
	long.Only(t, "TestRemovalAgainstDefinition has the deepest cuts")
	const rate, units = 8000, 60000 // milliseconds
	for name, depth := range map[string]func(m *rand.Rand, k int) float64{
		"random":       func(m *rand.Rand, _ int) float64 { return 1 + m.ExpFloat64() },
		"ever deeper":  func(_ *rand.Rand, k int) float64 { return 2 + float64(k) },
		"ever less":    func(_ *rand.Rand, k int) float64 { return 2 + 1/float64(k+1) },
		"all the same": func(*rand.Rand, int) float64 { return 2 },
		"to silence":   func(*rand.Rand, int) float64 { return math.Inf(1) },
		"a few depths": func(m *rand.Rand, _ int) float64 { return float64(1 + m.IntN(4)) },
		"in waves":     func(_ *rand.Rand, k int) float64 { return 2 + math.Sin(float64(k)/30) + float64(k)/units },
		"in hills":     func(m *rand.Rand, k int) float64 { return 2 + float64(k/500) + 0.1*m.Float64() },
	} {
		m := rand.New(rand.NewPCG(5, 5))
		c := newCuts(rate)
		var all []Cut
		for k := range units {
			v := Cut{int64(8*k + m.IntN(8)), m.IntN(2), depth(m, k)}
			if v.By > 1 {
				all = append(all, v)
			}
			c.look(v.By, 1, v.Frame, v.Channel)
			if math.IsInf(v.By, 1) {
				c.look(1, 0, v.Frame, v.Channel)
			}
			if k%10 == 9 {
				c.close(int64(8 * (k + 1)))
			}
			if len(c.found) > 2*2040+len(c.best) {
				t.Fatalf("%s: %d cuts are kept", name, len(c.found))
			}
		}
		if got, want := spaced(c.found, mostCuts, rate), spacedByDefinition(all, rate); !slices.Equal(got, want) {
			t.Errorf("%s: %v\nwant %v", name, got, want)
		}
	}
}

func TestRemovalOfNothing(t *testing.T) {
	o := RemovalOptions{Rate: 44100, Channels: 2, Ceiling: 0.5}
	if got := NewRemoval(o).Reading(); !reflect.DeepEqual(got, RemovalReading{Cuts: []Cut{}}) {
		t.Errorf("of no frames: %+v", got)
	}
	quiet := stages.NewBlock(2, 50000)
	if got := remove(o, quiet, quiet, 4096); !reflect.DeepEqual(got, RemovalReading{
		Samples: 100000, Cuts: []Cut{},
	}) {
		t.Errorf("of silence: %+v", got)
	}
	x := stages.NewBlock(2, 50000)
	x[1][30000], x[0][100] = 0.75, 0.4
	got := remove(o, x, quiet, 4096)
	want := RemovalReading{
		Samples: 100000, Removed: 0.75*0.75 + 0.4*0.4, Driven: 0.75*0.75 + 0.4*0.4, Clipped: 1,
		// The first window that has it ends with its segment, the 69th.
		Worst400ms: RemovalWindow{Frame: 441 * (69 - 40), Removed: 0.75 * 0.75, Driven: 0.75 * 0.75},
		Worst3s:    RemovalWindow{Removed: 0.75*0.75 + 0.4*0.4, Driven: 0.75*0.75 + 0.4*0.4},
		Cuts:       []Cut{{30000, 1, math.Inf(1)}},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("cut to silence: %+v\nwant %+v", got, want)
	}
	if got := remove(RemovalOptions{Rate: 44100, Channels: 2, Ceiling: math.Inf(1)}, x, quiet,
		4096); got.Clipped != 0 || len(got.Cuts) > 0 {
		t.Errorf("without a ceiling: %+v", got)
	}
}

// What is not finite leaves no trace but its count.
func TestRemovalOfNoNumbers(t *testing.T) {
	o := RemovalOptions{Rate: 8000, Channels: 1, Ceiling: 1}
	x, y := stages.NewBlock(1, 5000), stages.NewBlock(1, 5000)
	x[0][4000], y[0][4000] = 2, 1
	want := remove(o, x, y, 4096)
	for i, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e200, math.MaxFloat64} {
		x[0][10*i], y[0][10*i+5] = v, v
	}
	want.Clipped += 4
	if got := remove(o, x, y, 100); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

func TestRemovalAllocatesNothing(t *testing.T) {
	r := NewRemoval(RemovalOptions{Rate: 44100, Channels: 2, Ceiling: 2})
	x := bursts(rand.New(rand.NewPCG(1, 1)), 2, 4096, 1000)
	y := clipped(x, 2)
	if n := testing.AllocsPerRun(50, func() { r.Write(x, y) }); n >= 1 {
		t.Errorf("%v allocations a block", n)
	}
}

// Of equal cuts the earliest counts, then that of the first channel, and cuts just
// 50 ms apart are one.
func TestEqualCuts(t *testing.T) {
	o := RemovalOptions{Rate: 8000, Channels: 2, Ceiling: 1}
	x := stages.NewBlock(2, 8000)
	x[0][55], x[1][50], x[0][50] = 2, 2, 2
	x[0][450], x[1][851] = 2, 2 // 50 ms after the first, and a frame more than that after this
	x[0][1239], x[1][1230] = 1.5, 1.5
	want := []Cut{{50, 0, 2}, {851, 1, 2}}
	x[0][1252] = 1.5
	want = append(want, Cut{1252, 0, 1.5})
	for _, block := range []int{1, 60, 8000} {
		if got := remove(o, x, clipped(x, 1), block).Cuts; !slices.Equal(got, want) {
			t.Errorf("%d frames at once: %v, want %v", block, got, want)
		}
	}
	x[0][50] = 0
	want[0].Channel = 1
	if got := remove(o, x, clipped(x, 1), 8000).Cuts; !slices.Equal(got, want) {
		t.Errorf("in the second channel first: %v, want %v", got, want)
	}
}
