package bandlimit

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// hillsOf are the hills of tones whose values are those of twice, near the value in the middle of r, or so
// many halves of a value after it.
func hillsOf(r *Rate, s tones, halves int) (h Hills) {
	u := make([]float64, 3)
	first := 2*stood + halves
	for i := range u {
		u[i], _, _ = s.at(float64(halves+i-1) / 2)
	}
	h.find(r, u, first, []uint64{1}, func(*Hills) {})
	h.n = 1
	return h
}

// A tone's peak lies where its phase says and is as high as the tone, and halfway down to a level is where
// its arc cosine says.
func TestHillsOfTones(t *testing.T) {
	long.Only(t, "TestHillsOfSumsOfTones has several at once")
	random := rand.New(rand.NewPCG(3, 16))
	const wantHeight, wantSlope, wantDown = -150, 3e-7, 1e-5
	for _, f := range []float64{0.5, 2, 5, 10, 15, 18, 20, 21.5, 22} {
		height, slope, off, apart := 0.0, 0.0, 0.0, 0
		turn := turning(f)
		for i := range long.Or(50, 300) {
			want, sign, halves := random.Float64()/2-0.25, float64(1-2*(i%2)), i/2%2
			s := tones{{sign, turn, -turn * (want + float64(halves)/2)}}
			r := twice(s)
			h := hillsOf(r, s, halves)
			if h.apart[0] {
				apart++
			}
			top := h.Tops()[0]
			level := 1 - 0.3*random.Float64()*turn*turn
			h.descend(&[AtOnce]float64{level})
			height = max(height, math.Abs(top.Height-sign))
			at := want + float64(halves)/2 + stood
			slope = max(slope, math.Abs(top.At-at)*turn*turn)
			for side := range 2 {
				off = max(off, math.Abs(h.kernel.Down[side][0]-math.Acos((1+level)/2)/turn))
			}
			if middle := h.Middle(top, 0, level); !(math.Abs(middle.At-at) < 1e-5) || middle.Height != top.Height {
				t.Errorf("%v kHz: the middle of a peak at %v is at %v", f, at, middle.At)
			}
		}
		t.Logf("%5.2f kHz: height off by %.1f dB, position by %.1e values, halfway down by %.1e", f, dB(height),
			slope/turn/turn, off)
		if apart > 0 || !(dB(height) < wantHeight) || !(slope < wantSlope) || !(off < wantDown) {
			t.Errorf("%v kHz: off by %.1f dB, by a slope of %.1e, halfway down by %.1e; %d apart", f,
				dB(height), slope, off, apart)
		}
	}
}

// Of sums of tones the hills have the peak that the sum has in closed form, and the middle that a walk from
// place to place finds. MayHide tells of every side on which there is another peak beyond the aim.
func TestHillsOfSumsOfTones(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 16))
	seen, hiding, far, apart := 0, 0, 0, 0
	height, slope, off := 0.0, 0.0, 0.0
	for range long.Or(10000, 400000) {
		var s tones
		sum, top, down := 1.0, 21.5, 0.05
		switch random.IntN(3) {
		case 0: // a flat top, of one hump or two
			turn, c := 0.35+0.15*random.Float64(), 0.12+0.15*random.Float64()
			down = 0.02
			at := random.Float64() - 0.5
			s = tones{{1, turn, -turn * at}, {c, 3 * turn, math.Pi - 3*turn*at}}
		case 1: // a broad top
			top, down = 2, 0.5
		}
		for range 2 + random.IntN(4) {
			a := random.Float64()
			if len(s) > 1 && s[0][0] == 1 {
				a *= 0.01
			}
			s = append(s, [3]float64{a, turning(top * random.Float64()), 2 * math.Pi * random.Float64()})
			sum += a
		}
		var u [3]float64
		for i := range u {
			u[i], _, _ = s.at(float64(i-1) / 2)
		}
		sign := math.Copysign(1, u[1])
		if !(sign*u[1] >= sign*u[0] && sign*u[1] > sign*u[2] && sign*u[1] > 0.3*sum) {
			continue
		}
		seen++
		r := twice(s)
		h := hillsOf(r, s, 0)
		peak := h.Tops()[0]
		level := math.Abs(peak.Height) * (1 - down*random.Float64())
		h.descend(&[AtOnce]float64{level})
		want, d1, _ := s.at(peak.At - stood)
		if h.apart[0] { // it is Summit's
			apart++
		} else {
			height, slope = max(height, math.Abs(peak.Height-want)/sum), max(slope, math.Abs(d1)/sum)
		}
		got, slow := h.Middle(h.Tops()[0], 0, level), r.Middle(peak, level)
		off = max(off, math.Abs(got.At-slow.At)*math.Abs(peak.Bend)/sum)
		if h.kernel.Down[0][0] == 0 || h.kernel.Down[1][0] == 0 {
			far++
		}
		for side := range 2 {
			hides := s.hides(peak.At-stood, float64(2*side-1), sign, level)
			if hides {
				hiding++
			}
			if hides && !h.mayHide(0, side, level) {
				t.Errorf("%v, peak at %v: another one beyond %v on side %d is not told of", s, peak.At-stood, level, side)
			}
		}
	}
	t.Logf("%d peaks, %d broad, %d by search; %d sides that hide another; off by %.1f dB, by a slope of %.1e, "+
		"the middle by %.1e", seen, far, apart, hiding, dB(height), slope, off)
	if seen < long.Or(250, 10000) || far < long.Or(5, 200) || hiding < long.Or(3, 100) {
		t.Error("too few to tell")
	}
	if apart > seen/10 || !(dB(height) < -145) || !(slope < 1e-6) || !(off < 1e-6) {
		t.Error("too far off")
	}
}

// hides reports whether there is a peak that passes a level within a value and a half of a place, on one side
// of it, and the signal between falls at least halfway from that peak to the level. Otherwise its middle is
// that of the place's own peak.
func (s tones) hides(from, way, sign, level float64) bool {
	const fine = 64
	least := math.Inf(1)
	for k := 1; k <= 3*fine/2; k++ {
		at := from + way*float64(k)/fine
		before, _, _ := s.at(at - 1.0/fine)
		here, _, _ := s.at(at)
		after, _, _ := s.at(at + 1.0/fine)
		least = min(least, sign*here)
		if sign*here > level && sign*here > sign*before && sign*here >= sign*after && least < (sign*here+level)/2 {
			return true
		}
	}
	return false
}
