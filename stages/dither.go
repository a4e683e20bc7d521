package stages

import (
	"errors"
	"fmt"
	"math"

	"ledgerline/stages/kernel"
)

var ditherKind = Kind{
	Name: "dither",
	Doc:  "Quantises to a word length; the same seed gives the same bytes.",
	Keys: []Key{
		{Name: "bits", Type: Integer, Min: 2, Max: 32, Required: true, Unit: "bits", Doc: "The word length."},
		{
			Name: "density", Type: Word, Words: []string{"triangular", "rectangular", "none"}, Default: "triangular",
			Doc: "The dither's probability density.",
		},
		{
			Name: "shape", Type: Word, Words: []string{"none", "weighted_5", "weighted_9"}, Default: "none",
			Doc: "The filter that moves the noise to where it is heard less.",
		},
		{Name: "blank_silence", Type: Truth, Default: false, Doc: "Whether digital silence stays silent."},
		{
			Name: "seed", Type: Integer, Min: 0, Max: 1 << 53, Default: int64(0),
			Doc: "Chooses another noise of the same kind.",
		},
		{
			Name: "ceiling_dbfs", Type: Number, Min: -60, Max: 0, Unit: "dBFS",
			Doc: "Codes beyond this level become the largest code within it.",
		},
	},
	Fault:  ditherFault,
	AtRate: shapedAtRate,
	New:    newDither,
	Rounds: ditherRounding,
	Remarks: func(chain []Use, k int) []Remark {
		return append(unheldDither(chain, k), shapedWithoutTriangular(chain, k)...)
	},
	Like: func(s Settings) Likeness {
		d := newQuantiser(s)
		// A step and a half, times what a filter makes of it, is what noise and rounding to a code make, and the
		// rest what rounding of their sum adds. A sample this far beyond the largest code is no further from it
		// when it is limited.
		most, _ := shapeGain(shapeOf(s))
		return Likeness{Within: (float64(1.5*most) + 0.5) * d.step, Until: (d.top + float64(1.5*most)) * d.step}
	},
}

// dither rounds x*2^(bits-1) + noise to the nearest whole code, ties to the
// even one, and hands on code/2^(bits-1). The noise is added before rounding
// and not taken away again (Lipshitz, Wannamaker and Vanderkooy, "Quantization
// and Dither: A Theoretical Survey", JAES 40(5), 1992): digital silence comes
// out as noise of a step or so, as it must if the error is to be the same
// whatever the programme does.
//
// Codes end at full scale, -2^(bits-1) and 2^(bits-1)-1, and with a ceiling at
// the largest magnitude within it. The effect books the codes that had to be
// limited so, and only what the limit took from them: the dither's own noise
// is neither touched nor removed programme. A sample that is not a number has
// no code and stays as it is; an infinite one is limited.
type dither struct {
	quantiser
	density density
	taps    []float64 // of the filter that shapes the noise; none: it is white
	blank   bool      // digital silence stays silent
	reach   float64   // the most codes that it may have to take off, see DitherReach
	fed     []feedback
	keys    []uint64 // of the noise, by channel
	frame   int64    // the frame that comes next
	noise   [512]float64
	effects []tally // by channel
}

// A quantiser is the codes of a dither.
type quantiser struct {
	scale       float64 // codes in a full scale: 2^(bits-1)
	step        float64 // one code: 1/scale
	bottom, top float64 // the codes allowed
}

func newQuantiser(s Settings) (q quantiser) {
	q.scale = math.Ldexp(1, int(s["bits"].(int64)-1))
	q.step = 1 / q.scale
	q.bottom, q.top = -q.scale, q.scale-1
	if ceiling, ok := s.Ceiling(); ok {
		within := math.Floor(ceiling * q.scale)
		q.bottom, q.top = -within, min(q.top, within)
	}
	return q
}

// ditherFault: a ceiling is to leave a code besides 0.
func ditherFault(s Settings) string {
	if _, given := s["bits"].(int64); !given { // told of as such
		return ""
	}
	q := newQuantiser(s)
	if q.top >= 1 {
		return ""
	}
	// Rounded up, so that the level named is one that will do.
	least := math.Ceil(DB(q.step)*100) / 100
	return fmt.Sprintf("ceiling_dbfs %v leaves no code but 0 at %d bits: it takes %.2f or more",
		s["ceiling_dbfs"], s["bits"], least)
}

func newDither(f Format, s Settings) (Stage, error) {
	seed := s["seed"].(int64)
	d := &dither{
		quantiser: newQuantiser(s),
		density:   densities[s["density"].(string)],
		effects:   make([]tally, f.Channels),
		taps:      shapeOf(s),
		fed:       make([]feedback, f.Channels),
	}
	for c := range d.fed {
		d.fed[c].zeros = blankAfter
	}
	d.blank, _ = s["blank_silence"].(bool)
	d.reach = max(DitherReach, math.Ceil(ditherRounding(s).Codes)+2)
	if fault := ditherFault(s); fault != "" {
		return nil, errors.New(fault)
	}
	tellApart(d.effects, f.Ends)
	for c := range f.Channels {
		d.keys = append(d.keys, randomKey(uint64(seed), f.Seed, uint64(c)))
	}
	return d, nil
}

func (d *dither) Process(dst, in Block) Block {
	for c := range in {
		at := len(dst[c])
		dst[c] = append(dst[c], in[c]...)
		d.channel(dst[c][at:], c)
	}
	d.frame += int64(in.Frames())
	return dst
}

func (d *dither) Flush(dst Block) Block { return dst }

func (d *dither) Effect() Effect { return totalOf(d.effects) }

// EffectOn is what the limit took from one track.
func (d *dither) EffectOn(track int) Effect { return allOn(d.effects, track) }

// channel quantises the frames of channel c that come next.
func (d *dither) channel(x []float64, c int) {
	state := randomState(d.keys[c], d.frame)
	for len(x) > 0 {
		e, n := d.effects[c].take(min(len(x), len(d.noise)))
		noise := d.noise[:n]
		state = d.density(noise, state)
		if len(d.taps) > 0 || d.blank {
			d.shape(x[:n], noise, &d.fed[c], e)
		} else {
			d.quantise(x[:n], noise, e)
		}
		x = x[len(noise):]
	}
}

// quantise makes codes of x. Those that are to be limited are made one by one.
func (d *dither) quantise(x, noise []float64, e *Effect) {
	for len(x) > 0 {
		n := kernel.Quantise(x, noise, d.scale, d.bottom, d.top)
		x, noise = x[n:], noise[n:]
		n = min(len(x), 8)
		d.quantiseEach(x[:n], noise, e)
		x, noise = x[n:], noise[n:]
	}
}

// quantiseEach is quantise, sample by sample.
func (d *dither) quantiseEach(x, noise []float64, e *Effect) {
	for i, v := range x {
		code := math.RoundToEven(float64(v*d.scale) + noise[i])
		if !(code >= d.bottom && code <= d.top) {
			code = d.limit(code, e)
		}
		x[i] = float64(code*d.step) + 0 // there is one code 0: what was rounded to -0 becomes 0
	}
}

// DitherReach is the most codes that a dither may have to take off a sample that
// was within its ceiling: one and a half of the noise and its rounding, another
// where the ceiling lies between two codes, and a little that a hold may leave. A
// sample that loses more is clipped by a stage that is no clipper. Where the noise is
// shaped it is two more than that lifts a sample by.
const DitherReach = 4

// limit brings a code within the codes allowed.
func (d *dither) limit(code float64, e *Effect) float64 {
	if code != code {
		return code
	}
	to := min(max(code, d.bottom), d.top)
	if math.Abs(code-to) > d.reach {
		e.Clamped++
	}
	in, out := float64(code*d.step), float64(to*d.step)
	e.book(in, out, math.Abs(out))
	return to
}

// A density fills noise with the values that follow a state of the random
// counter, in steps of the quantiser, and returns the state after them.
type density func(noise []float64, state uint64) uint64

var densities = map[string]density{
	"triangular":  triangular,
	"rectangular": rectangular,
	"none":        undithered,
}

// triangular is the difference of two independent uniform values one step
// wide, the halves of one random word: two steps wide, mean 0 exactly.
func triangular(noise []float64, state uint64) uint64 {
	kernel.Triangular(noise, state)
	return state + uint64(len(noise))*kernel.RandomStep
}

// rectangular is one uniform value one step wide, mean 0 exactly.
func rectangular(noise []float64, state uint64) uint64 {
	for i := range noise {
		state += kernel.RandomStep
		noise[i] = (float64(int64(kernel.RandomWord(state))>>12) + 0.5) * 0x1p-52
	}
	return state
}

// undithered is no noise.
func undithered(noise []float64, state uint64) uint64 {
	clear(noise)
	return state
}
