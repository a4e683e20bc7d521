package stagetest

import (
	"math"
	"slices"
	"testing"

	"ledgerline/stages"
)

// model is a stage that is made up of a rule for one sample, or of a fault.
type model struct {
	process func(m *model, dst, in stages.Block) stages.Block
	flush   func(m *model, dst stages.Block) stages.Block
	effect  stages.Effect
	held    stages.Block
	calls   int
	frame   int
}

func (m *model) Process(dst, in stages.Block) stages.Block {
	m.calls++
	dst = m.process(m, dst, in)
	m.frame += in.Frames()
	return dst
}

func (m *model) Flush(dst stages.Block) stages.Block {
	if m.flush == nil {
		return dst
	}
	return m.flush(m, dst)
}

func (m *model) Effect() stages.Effect { return m.effect }

// each makes stages that do the same to every sample.
func each(rule func(m *model, c int, x float64) float64) Maker {
	return func(stages.Format) stages.Stage {
		return &model{effect: stages.Effect{}, process: func(m *model, dst, in stages.Block) stages.Block {
			for c := range in {
				for _, x := range in[c] {
					dst[c] = append(dst[c], rule(m, c, x))
				}
			}
			return dst
		}}
	}
}

// with makes stages with a process of their own and nothing to flush.
func with(process func(m *model, dst, in stages.Block) stages.Block) Maker {
	return func(stages.Format) stages.Stage { return &model{effect: stages.Effect{}, process: process} }
}

// holding makes stages that pass everything but keep the last n frames back.
func holding(n int) Maker {
	return func(f stages.Format) stages.Stage {
		m := &model{effect: stages.Effect{}, held: stages.NewBlock(f.Channels, 0)}
		m.process = func(m *model, dst, in stages.Block) stages.Block {
			m.held.Append(in)
			if ready := m.held.Frames() - n; ready > 0 {
				for c := range dst {
					dst[c] = append(dst[c], m.held[c][:ready]...)
					m.held[c] = slices.Delete(m.held[c], 0, ready)
				}
			}
			return dst
		}
		m.flush = func(m *model, dst stages.Block) stages.Block { return dst.Append(m.held) }
		return m
	}
}

func clip(x float64) float64 { return max(-0.5, min(0.5, x)) }

func book(m *model, _ int, x float64) float64 {
	y := clip(x)
	if y != x && x == x {
		m.effect.Touched++
		if !math.IsInf(x, 0) {
			m.effect.Removed += (x - y) * (x - y)
			m.effect.Cut = max(m.effect.Cut, math.Abs(x/y))
		}
	}
	return y
}

func pass(m *model, dst, in stages.Block) stages.Block { return dst.Append(in) }

var clips = Options{Ceiling: 0.5, Holds: true}

func TestSuitePassesSoundStages(t *testing.T) {
	for _, c := range []struct {
		name string
		make Maker
		o    Options
	}{
		{"passes everything", with(pass), Options{}},
		{"passes everything, rate given", with(pass), Options{Rate: 192000}},
		{
			"multiplies", each(func(_ *model, _ int, x float64) float64 { return -3 * x }),
			Options{Want: func(x float64) float64 { return -3 * x }},
		},
		{
			"rounds", each(func(_ *model, _ int, x float64) float64 { return math.Round(x*1024) / 1024 }),
			Options{Within: 1. / 2048},
		},
		{"clips", each(func(_ *model, _ int, x float64) float64 { return clip(x) }), clips},
		{"holds one frame back", holding(1), Options{HoldBack: 1}},
		{"holds 3000 frames back", holding(3000), Options{HoldBack: 3000}},
	} {
		t.Run(c.name, func(t *testing.T) { Suite(t, c.make, c.o) })
	}
}

// Every rule of the contract is broken here at least once, so that no check can
// pass by looking at nothing.
func TestSuiteFindsFaults(t *testing.T) {
	kept := stages.Block{}
	made := 0
	for _, c := range []struct {
		check string
		fault string
		make  Maker
		o     Options
	}{
		{"block lengths change nothing", "ramps start anew with each block",
			with(func(m *model, dst, in stages.Block) stages.Block {
				dst = dst.Append(in)
				for c := range in {
					if len(in[c]) > 0 {
						dst[c][len(dst[c])-len(in[c])] *= 0.5
					}
				}
				return dst
			}), Options{}},
		{"block lengths change nothing", "an empty block counts as a frame",
			with(func(m *model, dst, in stages.Block) stages.Block {
				dst = dst.Append(in)
				if m.calls > 1 && in.Frames() == 0 {
					m.effect.Touched++
				}
				return dst
			}), Options{}},
		{"block lengths change nothing", "removed is summed block by block over all channels",
			with(func(m *model, dst, in stages.Block) stages.Block {
				for c := range in {
					for _, x := range in[c] {
						dst[c] = append(dst[c], book(m, c, x))
					}
				}
				return dst
			}), clips},
		{"block lengths change nothing", "reads the spare memory of dst",
			with(func(m *model, dst, in stages.Block) stages.Block {
				for c := range in {
					at := len(dst[c])
					dst[c] = slices.Grow(dst[c], len(in[c]))[:at+len(in[c])]
					for i, x := range in[c] {
						dst[c][at+i] += x
					}
				}
				return dst
			}), Options{}},
		{"block lengths change nothing", "keeps in until the next call",
			with(func(m *model, dst, in stages.Block) stages.Block {
				old := m.held
				m.held = in
				for c := range in {
					for i, x := range in[c] {
						if i == 0 && len(old) > 0 && len(old[c]) > 0 {
							x += 1e-9 * old[c][0]
						}
						dst[c] = append(dst[c], x)
					}
				}
				return dst
			}), Options{Within: 1e-6}},
		{"block lengths change nothing", "the effect forgets",
			with(func(m *model, dst, in stages.Block) stages.Block {
				m.effect.Touched = int64(in.Frames())
				return dst.Append(in)
			}), Options{}},
		{"frame n out is frame n in", "changes in", with(func(m *model, dst, in stages.Block) stages.Block {
			dst = dst.Append(in)
			in[0][0]++
			return dst
		}), Options{}},
		{"frame n out is frame n in", "changes what stood in dst",
			with(func(m *model, dst, in stages.Block) stages.Block {
				dst[1][0]++
				return dst.Append(in)
			}), Options{}},
		{"block lengths change nothing", "looks up the last frame in the dst of the call before",
			with(func(m *model, dst, in stages.Block) stages.Block {
				for c := range in {
					for i, x := range in[c] {
						if i == 0 && len(m.held) > 0 {
							x += 0 * m.held[c][before]
						}
						dst[c] = append(dst[c], x)
					}
				}
				if in.Frames() > 0 {
					m.held = slices.Clone(dst)
				}
				return dst
			}), Options{}},
		{"frame n out is frame n in", "one frame late", func(f stages.Format) stages.Stage {
			last := make([]float64, f.Channels)
			return each(func(_ *model, c int, x float64) float64 { x, last[c] = last[c], x; return x })(f)
		}, Options{}},
		{
			"frame n out is frame n in", "-0 becomes 0",
			each(func(_ *model, _ int, x float64) float64 { return x + 0 }), Options{},
		},
		{"frame n out is frame n in", "denormals become 0", each(func(_ *model, _ int, x float64) float64 {
			if math.Abs(x) < 0x1p-1022 {
				return math.Copysign(0, x)
			}
			return x
		}), Options{}},
		{
			"frame n out is frame n in", "rounds further than it says",
			each(func(_ *model, _ int, x float64) float64 { return math.Round(x*1024) / 1024 }),
			Options{Within: 1. / 4096},
		},
		{"as many frames out as in", "swallows the last frame of three",
			with(func(m *model, dst, in stages.Block) stages.Block {
				dst = dst.Append(in)
				if m.frame == 2 {
					for c := range dst {
						dst[c] = dst[c][:len(dst[c])-1]
					}
				}
				return dst
			}), Options{HoldBack: 1}},
		{"as many frames out as in", "channels of different length",
			with(func(m *model, dst, in stages.Block) stages.Block {
				dst = dst.Append(in)
				dst[len(dst)-1] = append(dst[len(dst)-1], 0)
				return dst
			}), Options{}},
		{"as many frames out as in", "holds back more than it says", holding(2), Options{HoldBack: 1}},
		{"as many frames out as in", "does not flush", func(f stages.Format) stages.Stage {
			s := holding(1)(f).(*model)
			s.flush = nil
			return s
		}, Options{HoldBack: 1}},
		{"as many frames out as in", "does not change the rate", with(pass), Options{OutRate: 88200}},
		{"frame n out is frame n in", "frames at twice the rate are not at their moments",
			with(func(m *model, dst, in stages.Block) stages.Block {
				for c := range in {
					for _, x := range in[c] {
						dst[c] = append(dst[c], x, x)
					}
				}
				return dst
			}), Options{OutRate: 88200}},
		{
			"as many frames out as in", "loses a channel",
			with(func(m *model, dst, in stages.Block) stages.Block { return dst[:1].Append(in[:1]) }), Options{},
		},
		{"a new stage does the same again", "differs from stage to stage", func(f stages.Format) stages.Stage {
			made++
			by := float64(made)
			return each(func(_ *model, _ int, x float64) float64 { return by * x })(f)
		}, Options{}},
		{"a new stage does the same again", "stages share their state",
			each(func(_ *model, c int, x float64) float64 {
				if len(kept) == 0 {
					kept = stages.NewBlock(2, 1)
				}
				kept[c][0]++
				return x + kept[c][0]
			}), Options{}},
		{"silence", "0/0", each(func(_ *model, _ int, x float64) float64 { return x * x / x }), Options{}},
		{"silence", "hums", each(func(_ *model, _ int, x float64) float64 { return x + 1e-9 }), Options{}},
		{"channels keep apart", "swaps channels", with(func(m *model, dst, in stages.Block) stages.Block {
			swapped := slices.Clone(in)
			slices.Reverse(swapped)
			return dst.Append(swapped)
		}), Options{}},
		{"channels keep apart", "links channels", with(func(m *model, dst, in stages.Block) stages.Block {
			for i := range in.Frames() {
				by := 1.0
				for c := range in {
					by = min(by, 0.5/max(0.5, math.Abs(in[c][i])))
				}
				for c := range in {
					dst[c] = append(dst[c], in[c][i]*by+1e-12*(1-by))
				}
			}
			return dst
		}), Options{Ceiling: 0.5}},
		{"samples that are not finite", "NaN stays in a feedback", func(f stages.Format) stages.Stage {
			last := make([]float64, f.Channels)
			return each(func(_ *model, c int, x float64) float64 { last[c] = 0.5*last[c] + x; return last[c] })(f)
		}, Options{}},
		{"samples that are not finite", "NaN reaches further than it says", func(f stages.Format) stages.Stage {
			var last [6][2]float64
			return each(func(_ *model, c int, x float64) float64 {
				y := x + 0*last[c][1]
				last[c] = [2]float64{x, last[c][0]}
				return y
			})(f)
		}, Options{Reach: 1}},
		{"samples that are not finite", "infinity gets into the effect",
			each(func(m *model, _ int, x float64) float64 {
				if math.IsInf(x, 0) {
					m.effect.Removed += x * x
				}
				return x
			}), Options{}},
		{"samples that are not finite", "NaN gets into the effect", each(func(m *model, _ int, x float64) float64 {
			m.effect.Removed += 0 * x
			return x
		}), Options{}},
		{"the ceiling is held", "a sample passes by a bit", each(func(_ *model, _ int, x float64) float64 {
			return max(-0.5, min(math.Nextafter(0.5, 1), x))
		}), clips},
		{"the ceiling is held", "infinity passes", each(func(_ *model, _ int, x float64) float64 {
			if math.IsInf(x, 0) {
				return x
			}
			return clip(x)
		}), clips},
		{
			"the effect is what was done", "counts nothing",
			each(func(_ *model, _ int, x float64) float64 { return clip(x) }), Options{Ceiling: 0.5, Books: true},
		},
		{"the effect is what was done", "counts the level wrongly", each(func(m *model, c int, x float64) float64 {
			y := book(m, c, x)
			m.effect.Removed += 1e-3 * (x - y) * (x - y)
			return y
		}), Options{Ceiling: 0.5, Books: true}},
		{"the effect is what was done", "does not see the deepest cut",
			each(func(m *model, c int, x float64) float64 {
				y := book(m, c, x)
				m.effect.Cut = min(m.effect.Cut, 2)
				return y
			}), Options{Ceiling: 0.5, Books: true}},
		{"no allocation per block", "makes a block each time",
			with(func(m *model, dst, in stages.Block) stages.Block {
				m.held = clone(in)
				return dst.Append(m.held)
			}), Options{}},
	} {
		t.Run(c.fault, func(t *testing.T) {
			if err := check(t, c.check)(c.make, c.o); err == nil {
				t.Errorf("%q does not find it", c.check)
			} else {
				t.Log(err)
			}
		})
	}
}

// The alignment of a signal can only be seen where no excess reaches.
func TestSignalsAreMostlyOutOfReach(t *testing.T) {
	for _, o := range []Options{
		{}, {Ceiling: 0.5}, {Ceiling: 0.5, Reach: 300}, {Ceiling: 0.5, Reach: 9000, HoldBack: 9000},
		{Ceiling: 0.5, Reach: 300, Linked: true},
	} {
		for c := range 6 {
			looked := 0
			o.untouched(c, 2, o.frames(), func(int) { looked++ })
			if looked < o.frames()/2 || o.Ceiling > 0 && looked == o.frames() {
				t.Errorf("%+v, channel %d: %d of %d frames are out of reach", o, c, looked, o.frames())
			}
		}
	}
}

func check(t *testing.T, name string) func(Maker, Options) error {
	for _, c := range checks {
		if c.name == name {
			return c.run
		}
	}
	t.Fatalf("no check is named %q", name)
	return nil
}
