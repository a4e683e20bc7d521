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

// A likened stage is one with a likeness, and its settings.
type likened struct {
	kind     string
	settings stages.Settings
}

func dithered(bits int64, ceiling float64, density string) likened {
	s := stages.Settings{"bits": bits, "density": density, "seed": int64(3)}
	if ceiling < 0 {
		s["ceiling_dbfs"] = ceiling
	}
	return likened{"dither", s}
}

// likenedStages are gains over all of their range, and dithers of all word lengths, with and without a
// ceiling.
func likenedStages() (all []likened) {
	for _, db := range []float64{-60, -37.7, -6, -0.1, 0, 0.3, 6, 59.3, 60} {
		all = append(all, likened{"gain", stages.Settings{"gain_db": db}})
	}
	for _, bits := range []int64{2, 8, 12, 16, 20, 24, 32} {
		for _, density := range []string{"triangular", "rectangular", "none"} {
			all = append(all, dithered(bits, 0, density))
		}
		if bits > 2 {
			all = append(all, dithered(bits, -1, "triangular"), dithered(bits, -6, "triangular"))
		}
	}
	return all
}

// followed checks that a meter that follows the one before a stage reads what one reads that looks
// everywhere, and that leading changes no figure either. Blocks are of the given lengths in turn.
func followed(t *testing.T, name string, o Options, s likened, b stages.Block, lengths ...int) {
	t.Helper()
	kind, _ := stages.KindNamed(s.kind)
	stage, err := stages.Build(s.kind, stages.Format{Rate: o.Rate, Channels: len(b)}, s.settings)
	if err != nil {
		t.Fatal(err)
	}
	like := kind.Like(s.settings)
	leader, follower := New(o), New(o)
	plain, after := New(o), New(o)
	var marks []Mark
	for from, i := 0, 0; from < b.Frames(); i++ {
		to := min(b.Frames(), from+lengths[i%len(lengths)])
		in := b.Slice(from, to)
		out := stage.Process(stages.NewBlock(len(b), 0), in)
		marks = leader.Lead(in, like, marks[:0])
		follower.Follow(out, marks)
		plain.Write(in)
		after.Write(out)
		from = to
	}
	for _, m := range []struct {
		what      string
		got, want Reading
	}{{"leading", leader.Reading(), plain.Reading()}, {"following", follower.Reading(), after.Reading()}} {
		if !reflect.DeepEqual(m.got, m.want) {
			t.Errorf("%s, %s %v, %s:\ngot  %+v\nwant %+v", name, s.kind, s.settings, m.what, m.got, m.want)
		}
	}
}

// TestFollow: to follow changes no figure, not by one bit, whatever the signal.
func TestFollow(t *testing.T) {
	signals := followedSignals()
	for n, name := range slices.Sorted(maps.Keys(signals)) {
		b := signals[name]
		for i, s := range likenedStages() {
			if !long.Wanted() && (n+i/3)%len(signals) > 0 { // each stage with a signal
				continue
			}
			lengths := [][]int{{4096}, {1000, 1, 5000}, {1 << 20}}[i%3]
			followed(t, name, Options{Rate: 44100, Weights: ones(len(b)), Ceiling: 0.9}, s, b, lengths...)
		}
	}
}

func followedSignals() map[string]stages.Block {
	const frames = 12000
	signals := map[string]stages.Block{
		"nothing": {{}},
		"silence": {make([]float64, frames)},
		"one":     {{0.7}},
		"awkward": awkward(44100, 2, 0.3),
	}
	add := func(name string, channels int, make func(c int) []float64) {
		b := stages.Block{}
		for c := range channels {
			b = append(b, make(c))
		}
		signals[name] = b
	}
	add("eight channels", 8, func(c int) []float64 { return programme(44100, 0.2, uint64(c))[c%2] })
	add("noise", 2, func(c int) []float64 { return noise(frames, uint64(c)) })
	add("at a ceiling", 2, func(c int) []float64 {
		x := noise(frames, uint64(c))
		for i := range x {
			x[i] = min(max(3*x[i], -stages.Linear(-1)), stages.Linear(-1))
		}
		return x
	})
	add("late", 1, func(int) []float64 { return append(make([]float64, frames/2), noise(frames/2, 1)...) })
	add("fading in", 1, func(int) []float64 {
		x := noise(frames, 2)
		for i := range x {
			x[i] *= math.Exp(float64(i-frames) / 300)
		}
		return x
	})
	for _, size := range []float64{1e-319, 1e-318, 1e-300, 1e-289, 1e-150, 1e6, 1e98, 3e99, 1e102} {
		add(fmt.Sprint("of size ", size), 1, func(int) []float64 {
			x := noise(frames, 3)
			for i := range x {
				x[i] *= size
			}
			return x
		})
	}
	// As the leader reckons with it the first of two peaks is the higher one, as the follower does the second.
	add("two peaks beyond what is reckoned with", 1, func(int) []float64 {
		x := make([]float64, frames)
		x[1000], x[1001] = 1e101, 1e101
		x[8000], x[8001] = 3e102, 9e99
		return x
	})
	for name, v := range map[string]float64{
		"huge": 1e200, "infinite": math.Inf(-1), "no number": math.NaN(), "beyond full scale": 1.4,
	} {
		add(name+" once", 2, func(c int) []float64 {
			x := noise(frames, uint64(4+c))
			x[c+frames/2] = v
			return x
		})
	}
	return signals
}

// Tones and beats have many peaks that differ by little more than a dither does, some of which lie half way
// between two points: an unlucky place for the parabola through one of them.
func TestFollowTies(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	for n := range long.Or(12, 60) {
		b := stages.Block{make([]float64, 9000)}
		level, turn := 0.2+0.7*random.Float64(), 1e-5*random.Float64()*float64(n%3)
		step := math.Pi * float64(1+random.IntN(40)) / 44
		for i := range b[0] {
			b[0][i] = level * math.Sin(step*(float64(i)+1/float64(4*(1+n%8)))+turn*float64(i))
		}
		for _, s := range []likened{
			{"gain", stages.Settings{"gain_db": -4.4}}, dithered(24, -1, "triangular"), dithered(16, 0, "triangular"),
		} {
			followed(t, fmt.Sprint("tone ", n), Options{Rate: 44100, Weights: ones(1)}, s, b, 4096)
		}
	}
}

// TestLikeness: no sample is further from a constant times what came in than the likeness says, and some are
// nearly as far.
func TestLikeness(t *testing.T) {
	for _, s := range likenedStages() {
		kind, _ := stages.KindNamed(s.kind)
		stage, err := stages.Build(s.kind, stages.Format{Rate: 44100, Channels: 1}, s.settings)
		if err != nil {
			t.Fatal(err)
		}
		like, g := kind.Like(s.settings), 1.0
		if db, ok := s.settings["gain_db"].(float64); ok {
			g = stages.Linear(db)
		}
		x := noise(100000, 9)
		for i := range x {
			x[i] *= min(like.Until, 10)
		}
		most := 0.0
		for i, y := range stage.Process(stages.NewBlock(1, 0), stages.Block{x})[0] {
			if off := math.Abs(y-g*x[i]) / g; !(off <= like.Within) {
				t.Fatalf("%s %v: %v became %v, off by %v, the likeness says %v", s.kind, s.settings, x[i], y, off,
					like.Within)
			} else {
				most = max(most, off)
			}
		}
		if most < like.Within/8 {
			t.Errorf("%s %v: off by %v at most, the likeness says %v", s.kind, s.settings, most, like.Within)
		}
	}
}

// TestFollowSaves: on programme a meter that follows marks few cells to look at, after a gain and after a
// dither with a ceiling that the programme reaches.
func TestFollowSaves(t *testing.T) {
	b := programme(44100, 5, 1)
	scale(b, 4)
	clip(b, stages.Linear(-1))
	for _, s := range []likened{{"gain", stages.Settings{"gain_db": 6.0}}, dithered(24, -1, "triangular")} {
		kind, _ := stages.KindNamed(s.kind)
		marks := New(Options{Rate: 44100, Weights: ones(2)}).Lead(b, kind.Like(s.settings), nil)
		all := 0
		for _, m := range marks {
			if m == everywhere {
				all++
			}
		}
		if all > len(marks)/4 {
			t.Errorf("%s: everything is marked in %d of %d stretches", s.kind, all, len(marks))
		}
	}
}
