package bandlimit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"ledgerline/stages/stagetest/long"
)

var factors = []int{2, 4, 8, 16}

// holding is a track as a whole at the highest rate of an interpolator, in which it begins at frame
// Reach, with Reach frames of silence after its last tile.
func holding(c Cascade, factor int, x []float64) *Rate {
	ip := NewInterpolator(factor, c, 8192)
	ip.Begin()
	ip.Push(x)
	ip.End()
	ip.PushZeros(Reach + Tile - len(x)%Tile)
	return ip.At(factor)
}

// tiles calls f for each tile of a track of n frames.
func tiles(n int, f func(tile int)) {
	for t := Reach / Tile; t < (Reach+n+Tile-1)/Tile; t++ {
		f(t)
	}
}

func noise(seed uint64, n int) []float64 {
	random := rand.New(rand.NewPCG(4, seed))
	x := make([]float64, n)
	for i := range x {
		x[i] = 2*random.Float64() - 1
	}
	return x
}

// each calls f with each design and factor.
func each(f func(c design, factor int)) {
	for _, c := range designs {
		for _, factor := range factors {
			f(c, factor)
		}
	}
}

// What lies between the samples of a tone is the tone: without delay, and as
// exactly as the doublings reject its images.
func TestInterpolatorOfTones(t *testing.T) {
	const n = 1000
	each(func(c design, factor int) {
		for _, f := range []float64{0, 0.01, 1, 5, 11, 17, 20, 20.8} {
			if kHz(f) > c.edge {
				continue
			}
			x := make([]float64, n)
			at := func(time float64) float64 { return math.Sin(2*math.Pi*kHz(f)*time + 1) }
			for i := range x {
				x[i] = at(float64(i))
			}
			r := holding(c.Cascade, factor, x)
			tiles(n, r.Fill)
			off := 0.0
			for m := 150 * factor; m < (n-150)*factor; m++ {
				off = max(off, math.Abs(r.Values()[m+Reach*factor]-at(float64(m)/float64(factor))))
			}
			if dB(off) > c.images+2 {
				t.Errorf("%s, factor %d, %v kHz: off by %.1f dB", c.name, factor, f, dB(off))
			}
		}
	})
}

// Tile by tile, in any order, the values at each rate are those of the doublings done one
// after the other over the whole signal.
func TestInterpolatorAgainstWholeSignal(t *testing.T) {
	const n = 777
	x := noise(1, n)
	for _, c := range designs {
		top := holding(c.Cascade, 16, x)
		var order []int
		tiles(n, func(tile int) { order = append(order, tile) })
		rand.New(rand.NewPCG(5, 5)).Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for _, tile := range order {
			top.Fill(tile)
		}
		want := append(make([]float64, Reach), x...)
		want = append(want, make([]float64, Reach)...)
		middle := Reach // of frame 0
		for l, factor := range factors {
			want = interpolate(want, c.Cascade[l].halfBand)
			middle = 2*middle + 2*len(c.Cascade[l].halfBand) - 1
			r := top.ip.At(factor)
			if r.Factor() != factor {
				t.Errorf("%s: factor %d, want %d", c.name, r.Factor(), factor)
			}
			for m := range n * factor {
				if got, want := r.Values()[m+Reach*factor], want[middle+m]; math.Abs(got-want) > 1e-13 {
					t.Fatalf("%s, factor %d, %d/%d: %v, want %v", c.name, factor, m, factor, got, want)
				}
			}
			tiles(n, func(tile int) { checkTile(t, r, tile) })
		}
	}
}

// checkTile compares the peak of a tile with its values.
func checkTile(t *testing.T, r *Rate, tile int) {
	t.Helper()
	peak := 0.0
	for _, v := range r.Values()[tile*Tile*r.Factor() : (tile+1)*Tile*r.Factor()] {
		peak = max(peak, math.Abs(v))
	}
	if got := r.Peak(tile); got != peak {
		t.Errorf("factor %d, tile %d: peak %v, want %v", r.Factor(), tile, got, peak)
	}
}

// stream pushes a track piece by piece, fills each tile as soon as it can, and
// forgets what it must. It returns the values of all phases in order.
func stream(c Cascade, factor int, x []float64, piece func(room int) int) []float64 {
	ip := NewInterpolator(factor, c, 8192)
	r := ip.At(factor)
	ip.Begin()
	var out []float64
	next, all := Reach/Tile, len(x)*factor
	for len(out) < all {
		if ip.Room() < Tile {
			ip.Drop((next - Reach/Tile) * Tile)
			next = Reach / Tile
		}
		if n := min(piece(ip.Room()), ip.Room(), len(x)); len(x) > 0 {
			ip.Push(x[:n])
			x = x[n:]
		} else {
			ip.PushZeros(Tile)
		}
		for (next+1)*Tile+Reach <= ip.Frames() {
			r.Fill(next)
			out = append(out, r.Values()[next*Tile*factor:(next+1)*Tile*factor]...)
			next++
		}
	}
	return out
}

// However a signal is cut up, and whatever was dropped, the values are the same to the bit.
func TestInterpolatorInPieces(t *testing.T) {
	x := noise(2, 9001)
	for _, factor := range factors {
		want := stream(Steep, factor, x, func(room int) int { return room })
		whole := holding(Steep, factor, x[:2000])
		tiles(1500, whole.Fill)
		for m := range 1500 * factor {
			if got := whole.Values()[m+Reach*factor]; want[m] != got {
				t.Fatalf("factor %d: value %d is %v, and %v in a stretch that holds it all", factor, m, want[m], got)
			}
		}
		random := rand.New(rand.NewPCG(6, 6))
		for name, piece := range map[string]func(int) int{
			"one by one":  func(int) int { return 1 },
			"31 by 31":    func(int) int { return 31 },
			"tiles":       func(int) int { return Tile },
			"any lengths": func(int) int { return random.IntN(700) },
		} {
			got := stream(Steep, factor, x, piece)
			if i := firstDifference(got, want); i >= 0 {
				t.Errorf("factor %d, %s: differs from value %d on", factor, name, i)
			}
		}
	}
}

func firstDifference(a, b []float64) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	return -1
}

// bursts is silence with noise, lone samples and high tones in it, of all
// levels: signals whose values between the samples lie far above the samples.
func bursts(seed uint64, n int) []float64 {
	random := rand.New(rand.NewPCG(7, seed))
	x := make([]float64, n)
	for range 12 {
		at, length := random.IntN(n), random.IntN(150)
		level := math.Pow(10, -2*random.Float64())
		turn := math.Pi * (0.8 + 0.2*random.Float64())
		sort := random.IntN(4)
		for i := at; i < min(n, at+length); i++ {
			switch sort {
			case 0:
				x[i] = level * (2*random.Float64() - 1)
			case 1:
				x[i] = level * math.Sin(turn*float64(i)+1)
			case 2:
				x[i] = level * float64(1-2*(i%2)) * (1 - 2*float64(random.IntN(2)))
			}
		}
		if at < n {
			x[at] = level
		}
	}
	return x
}

// smoothed is x with each sample weighted 1 2 1 with its neighbours, a number of times: what
// bends little, and is bounded by that.
func smoothed(x []float64, times int) []float64 {
	for range times {
		y := slices.Clone(x)
		for i := 1; i < len(x)-1; i++ {
			y[i] = (x[i-1] + 2*x[i] + x[i+1]) / 4
		}
		x = y
	}
	return x
}

// What the interpolator says of a tile must be safe: where no value may pass, none does.
func TestMayPassIsSafe(t *testing.T) {
	const n = 1200
	yes, no, idle := 0, 0, 0
	each(func(c design, factor int) {
		for seed := range uint64(long.Or(7, 25)) {
			x := smoothed(bursts(seed, n), int(seed%5))
			all := holding(c.Cascade, factor, x)
			tiles(n, all.Fill)
			for _, ceiling := range []float64{0.9, 0.5, 0.2, 0.05, 0.01} {
				r := holding(c.Cascade, factor, x)
				tiles(n, func(tile int) {
					peak := all.Peak(tile)
					switch {
					case r.MayPass(tile, ceiling):
						yes++
						if r.Peak(tile) != peak {
							t.Fatalf("%s, factor %d, signal %d, tile %d: peak %v, want %v", c.name, factor, seed, tile,
								r.Peak(tile), peak)
						}
					case peak > ceiling:
						t.Fatalf("%s, factor %d, signal %d: tile %d passes %v: %v", c.name, factor, seed, tile, ceiling, peak)
					default:
						no++
						if slices.Max(r.ip.filled) == onlySignal {
							idle++
						}
					}
				})
			}
		}
	})
	t.Logf("%d tiles may pass, %d may not, %d of them before anything was filled in", yes, no, idle)
	if yes < 1000 || no < 1000 || idle < 100 {
		t.Errorf("%d yes, %d no, %d idle: too few to tell", yes, no, idle)
	}
}

// A lone sample is heard as far away as the filters reach, and however quiet it
// has become there, it counts.
func TestMayPassIsSafeFarFromALoneSample(t *testing.T) {
	long.Only(t, "TestMayPassIsSafe has bursts")
	const n, at = 640, 320
	each(func(c design, factor int) {
		for shift := 0; shift < Tile; shift += long.Or(13, 1) {
			x := make([]float64, n)
			x[at+shift] = 1e6
			all := holding(c.Cascade, factor, x)
			tiles(n, all.Fill)
			tiles(n, func(tile int) {
				peak := all.Peak(tile)
				if peak > 0 && !holding(c.Cascade, factor, x).MayPass(tile, peak*(1-1e-12)) {
					t.Errorf("%s, factor %d, a sample at %d: tile %d may not pass %v", c.name, factor, Reach+at+shift,
						tile, peak)
				}
			})
		}
	})
}

// The bound is the least there is: a signal that has the signs of the filter's
// coefficients reaches it between two samples.
func TestMayPassAtTheBound(t *testing.T) {
	const n, middle = 512, 256
	each(func(c design, factor int) {
		for value := 1; value < factor; value += long.Or(max(1, factor/2), 1) {
			x := make([]float64, n)
			for i := range x {
				x[i] = 1
				if c.influence(factor, middle-i, value) < 0 {
					x[i] = -1
				}
			}
			r := holding(c.Cascade, factor, x)
			tile := (Reach + middle) / Tile
			r.Fill(tile)
			peak := math.Abs(r.Values()[(Reach+middle)*factor+value])
			if !holding(c.Cascade, factor, x).MayPass(tile, peak*(1-1e-12)) {
				t.Errorf("%s, factor %d: %v at %d/%d may not pass", c.name, factor, peak, value, factor)
			}
			if peak > r.bounds[0].gain {
				t.Errorf("%s, factor %d: %v passes the bound %v", c.name, factor, peak, r.bounds[0].gain)
			}
			if holding(c.Cascade, factor, x).MayPass(tile, r.bounds[0].gain) {
				t.Errorf("%s, factor %d: may pass the bound %v of all values", c.name, factor, r.bounds[0].gain)
			}
		}
	})
}

// influence is by how much the value a number of frames and value/factor after a sample depends on it.
func (c Cascade) influence(factor, frames, value int) float64 {
	response := []float64{1}
	for l := 0; 1<<l < factor; l++ {
		response = interpolate(response, c[l].halfBand)
	}
	if i := len(response)/2 + frames*factor + value; i >= 0 && i < len(response) {
		return response[i]
	}
	return 0
}

// What an idle stretch costs is told by what is filled in: nothing.
func TestMayPassFillsNothingWhereAllIsQuiet(t *testing.T) {
	each(func(c design, factor int) {
		r := holding(c.Cascade, factor, noise(3, 3000))
		tiles(3000, func(tile int) {
			if r.MayPass(tile, 6) {
				t.Errorf("%s, factor %d, tile %d: noise of 1 may pass 6", c.name, factor, tile)
			}
		})
		for tile, filled := range r.ip.filled {
			if filled > onlySignal {
				t.Errorf("%s, factor %d: tile %d was filled in", c.name, factor, tile)
			}
		}
	})
}

func BenchmarkFill(b *testing.B) {
	for _, factor := range factors {
		b.Run(fmt.Sprint("factor ", factor), func(b *testing.B) {
			r := holding(Clean, factor, noise(4, 4000))
			b.SetBytes(8 * 4000)
			for b.Loop() {
				tiles(4000, func(tile int) { r.ip.forget(tile, onlySignal) })
				tiles(4000, r.Fill)
			}
		})
	}
}
