package bandlimit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// At is the value m.
func (ip *Interpolator) At(m int) float64 { return ip.up[ip.levels][m] }

var factors = []int{2, 4, 8, 16}

// holding is an interpolator with a whole track in it, which begins at frame
// Reach, and with Reach frames of silence behind its last tile.
func holding(factor int, x []float64) *Interpolator {
	ip := NewInterpolator(factor)
	ip.Begin()
	ip.Push(x)
	ip.End()
	ip.PushZeros(Reach + Tile - len(x)%Tile)
	return ip
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

// What lies between the samples of a tone is the tone: without delay, and as
// exactly as each doubling rejects images.
func TestInterpolatorOfTones(t *testing.T) {
	const n = 1000
	for _, factor := range factors {
		for _, f := range []float64{0, 0.01, 1, 5, 11, 17, 20, 20.8} {
			x := make([]float64, n)
			at := func(time float64) float64 { return math.Sin(2*math.Pi*kHz(f)*time + 1) }
			for i := range x {
				x[i] = at(float64(i))
			}
			ip := holding(factor, x)
			tiles(n, ip.Fill)
			off := 0.0
			for m := 150 * factor; m < (n-150)*factor; m++ {
				off = max(off, math.Abs(ip.At(m+Reach*factor)-at(float64(m)/float64(factor))))
			}
			if dB(off) > -138 {
				t.Errorf("factor %d, %v kHz: off by %.1f dB", factor, f, dB(off))
			}
		}
	}
}

// Tile by tile, in any order, the values are those of the doublings done one
// after the other over the whole signal.
func TestInterpolatorAgainstWholeSignal(t *testing.T) {
	const n = 777
	x := noise(1, n)
	for _, factor := range factors {
		want := append(make([]float64, Reach), x...)
		want = append(want, make([]float64, Reach)...)
		middle := Reach // of frame 0
		for l := 0; 1<<l < factor; l++ {
			want = interpolate(want, halfBands[l])
			middle = 2*middle + 2*len(halfBands[l]) - 1
		}
		ip := holding(factor, x)
		var order []int
		tiles(n, func(tile int) { order = append(order, tile) })
		rand.New(rand.NewPCG(5, 5)).Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for _, tile := range order {
			ip.Fill(tile)
		}
		for m := range n * factor {
			if got, want := ip.At(m+Reach*factor), want[middle+m]; math.Abs(got-want) > 1e-13 {
				t.Fatalf("factor %d, %d/%d: %v, want %v", factor, m, factor, got, want)
			}
		}
		tiles(n, func(tile int) { checkTile(t, ip, tile) })
	}
}

// checkTile compares the peak of a tile with its values.
func checkTile(t *testing.T, ip *Interpolator, tile int) {
	t.Helper()
	peak := 0.0
	for _, v := range ip.Values()[tile*Tile*ip.factor : (tile+1)*Tile*ip.factor] {
		peak = max(peak, math.Abs(v))
	}
	if got := ip.Peak(tile); got != peak {
		t.Errorf("factor %d, tile %d: peak %v, want %v", ip.factor, tile, got, peak)
	}
}

// stream pushes a track piece by piece, fills each tile as soon as it can, and
// forgets what it must. It returns the values of all phases in order.
func stream(factor int, x []float64, piece func(room int) int) []float64 {
	ip := NewInterpolator(factor)
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
			ip.Fill(next)
			for m := next * Tile * factor; m < (next+1)*Tile*factor; m++ {
				out = append(out, ip.At(m))
			}
			next++
		}
	}
	return out
}

// However a signal is cut up, and whatever was dropped, the values are the same to the bit.
func TestInterpolatorInPieces(t *testing.T) {
	x := noise(2, 9001)
	for _, factor := range factors {
		want := stream(factor, x, func(room int) int { return room })
		whole := holding(factor, x[:2000])
		tiles(1500, whole.Fill)
		for m := range 1500 * factor {
			if want[m] != whole.At(m+Reach*factor) {
				t.Fatalf("factor %d: value %d is %v, and %v in a stretch that holds it all", factor, m, want[m], whole.At(m+Reach*factor))
			}
		}
		random := rand.New(rand.NewPCG(6, 6))
		for name, piece := range map[string]func(int) int{
			"one by one":  func(int) int { return 1 },
			"31 by 31":    func(int) int { return 31 },
			"tiles":       func(int) int { return Tile },
			"any lengths": func(int) int { return random.IntN(700) },
		} {
			got := stream(factor, x, piece)
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

// What the interpolator says of a tile must be safe: where no value may pass, none does.
func TestMayPassIsSafe(t *testing.T) {
	const n = 1200
	yes, no, idle := 0, 0, 0
	for _, factor := range factors {
		for seed := range uint64(25) {
			x := bursts(seed, n)
			all := holding(factor, x)
			tiles(n, all.Fill)
			for _, ceiling := range []float64{0.9, 0.5, 0.2, 0.05, 0.01} {
				ip := holding(factor, x)
				tiles(n, func(tile int) {
					peak := all.Peak(tile)
					switch {
					case ip.MayPass(tile, ceiling):
						yes++
						if ip.Peak(tile) != peak {
							t.Fatalf("factor %d, signal %d, tile %d: peak %v, want %v", factor, seed, tile, ip.Peak(tile), peak)
						}
					case peak > ceiling:
						t.Fatalf("factor %d, signal %d: tile %d passes %v: %v", factor, seed, tile, ceiling, peak)
					default:
						no++
						if slices.Max(ip.filled) == onlySignal {
							idle++
						}
					}
				})
			}
		}
	}
	t.Logf("%d tiles may pass, %d may not, %d of them before anything was filled in", yes, no, idle)
	if yes < 1000 || no < 1000 || idle < 100 {
		t.Errorf("%d yes, %d no, %d idle: too few to tell", yes, no, idle)
	}
}

// A lone sample is heard as far away as the filters reach, and however quiet it
// has become there, it counts.
func TestMayPassIsSafeFarFromALoneSample(t *testing.T) {
	const n, at = 640, 320
	for _, factor := range factors {
		for shift := range Tile {
			x := make([]float64, n)
			x[at+shift] = 1e6
			all := holding(factor, x)
			tiles(n, all.Fill)
			tiles(n, func(tile int) {
				peak := all.Peak(tile)
				if peak > 0 && !holding(factor, x).MayPass(tile, peak*(1-1e-12)) {
					t.Errorf("factor %d, a sample at %d: tile %d may not pass %v", factor, Reach+at+shift, tile, peak)
				}
			})
		}
	}
}

// The bound is the least there is: a signal that has the signs of the filter's
// coefficients reaches it between two samples.
func TestMayPassAtTheBound(t *testing.T) {
	const n, middle = 512, 256
	for _, factor := range factors {
		for value := 1; value < factor; value++ {
			x := make([]float64, n)
			for i := range x {
				x[i] = 1
				if influence(factor, middle-i, value) < 0 {
					x[i] = -1
				}
			}
			ip := holding(factor, x)
			tile := (Reach + middle) / Tile
			ip.Fill(tile)
			peak := math.Abs(ip.At((Reach+middle)*factor + value))
			if !holding(factor, x).MayPass(tile, peak*(1-1e-12)) {
				t.Errorf("factor %d: %v at %d/%d may not pass", factor, peak, value, factor)
			}
			if peak > ip.bounds[0] {
				t.Errorf("factor %d: %v passes the bound %v", factor, peak, ip.bounds[0])
			}
			if holding(factor, x).MayPass(tile, ip.bounds[0]) {
				t.Errorf("factor %d: may pass the bound %v of all values", factor, ip.bounds[0])
			}
		}
	}
}

// influence is by how much the value a number of frames and value/factor behind a sample depends on it.
func influence(factor, frames, value int) float64 {
	response := []float64{1}
	for l := 0; 1<<l < factor; l++ {
		response = interpolate(response, halfBands[l])
	}
	if i := len(response)/2 + frames*factor + value; i >= 0 && i < len(response) {
		return response[i]
	}
	return 0
}

// What an idle stretch costs is told by what is filled in: nothing.
func TestMayPassFillsNothingWhereAllIsQuiet(t *testing.T) {
	for _, factor := range factors {
		ip := holding(factor, noise(3, 3000))
		tiles(3000, func(tile int) {
			if ip.MayPass(tile, 6) {
				t.Errorf("factor %d, tile %d: noise of 1 may pass 6", factor, tile)
			}
		})
		for tile, filled := range ip.filled {
			if filled > onlySignal {
				t.Errorf("factor %d: tile %d was filled in", factor, tile)
			}
		}
	}
}

func BenchmarkFill(b *testing.B) {
	for _, factor := range factors {
		b.Run(fmt.Sprint("factor ", factor), func(b *testing.B) {
			ip := holding(factor, noise(4, 4000))
			b.SetBytes(8 * 4000)
			for b.Loop() {
				tiles(4000, func(tile int) { ip.forget(tile, onlySignal) })
				tiles(4000, ip.Fill)
			}
		})
	}
}
