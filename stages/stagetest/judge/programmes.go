package judge

import (
	"math"
	"math/rand/v2"

	"ledgerline/stages"
)

const synthRate = 44100

// Synthesized are three programmes of so many seconds, in stereo, with their highest sample at -1 dBFS: a
// dense one of saws, drums and noise, a sparse one of pure tones with transients among them, and one that is
// mostly bass.
func Synthesized(seconds float64) []Programme {
	n := int(seconds * synthRate)
	return []Programme{
		{"dense", synthRate, toPeak(dense(n))},
		{"sparse", synthRate, toPeak(sparse(n))},
		{"bass-heavy", synthRate, toPeak(bassHeavy(n))},
	}
}

// dense is four chords a bar of eight saws each, up to 15 kHz, with a drum on each beat and noise in between.
func dense(n int) stages.Block {
	b, random := stages.NewBlock(2, n), rand.New(rand.NewPCG(3, 1))
	roots := []float64{110, 130.81, 98, 146.83}
	const beat = synthRate / 2
	for voice := range 8 {
		pan := float64(voice) / 7
		detune := 1 + 0.004*(random.Float64()-0.5)
		ratio := []float64{1, 1.5, 2, 2.52, 3, 4, 5.04, 6}[voice]
		phase := random.Float64()
		for i := range n {
			f := roots[i/beat%4] * ratio * detune / synthRate
			phase += f
			sum := 0.0
			for h := 1.0; h*f < 15000.0/synthRate && h <= 24; h++ {
				sum += math.Sin(2*math.Pi*h*phase) / h
			}
			b[0][i] += 0.1 * (1 - pan/2) * sum
			b[1][i] += 0.1 * (0.5 + pan/2) * sum
		}
	}
	soft := 0.0
	for i := range n {
		s := float64(i%beat) / synthRate
		kick := 0.7 * math.Sin(2*math.Pi*(50*s+2*(1-math.Exp(-40*s)))) * math.Exp(-9*s)
		soft += 0.5 * (random.NormFloat64() - soft)
		snare := 0.4 * soft * math.Exp(-14*float64((i+beat/2)%beat)/synthRate)
		hat := 0.1 * random.NormFloat64() * math.Exp(-50*float64(i%(beat/4))/synthRate)
		b[0][i] += kick + snare + hat
		b[1][i] += kick + snare - 0.8*hat
	}
	return b
}

// sparse is a few sines that last, with a click of three decaying partials a second or so.
func sparse(n int) stages.Block {
	b, random := stages.NewBlock(2, n), rand.New(rand.NewPCG(7, 1))
	for k, f := range []float64{220, 329.63, 440, 1318.5} {
		for i := range n {
			s := float64(i) / synthRate
			level := 0.12 / (1 + float64(k)) * (1 + 0.5*math.Sin(2*math.Pi*0.3*s*float64(k+1)))
			b[0][i] += level * math.Sin(2*math.Pi*f*s)
			b[1][i] += level * math.Sin(2*math.Pi*f*s+float64(k))
		}
	}
	for at := synthRate / 4; at < n; at += int(synthRate * (0.35 + 0.3*random.Float64())) {
		f, level := 300+1200*random.Float64(), 0.5+0.3*random.Float64()
		for i := at; i < min(n, at+synthRate/2); i++ {
			s := float64(i-at) / synthRate
			hit := level * (math.Sin(2*math.Pi*f*s)*math.Exp(-20*s) +
				0.6*math.Sin(2*math.Pi*2.76*f*s)*math.Exp(-35*s) + 0.3*math.Sin(2*math.Pi*5.4*f*s)*math.Exp(-60*s))
			b[0][i] += hit
			b[1][i] += 0.7 * hit
		}
	}
	return b
}

// bassHeavy is a bass line of 41 to 65 Hz with three overtones, a kick and some quiet hiss.
func bassHeavy(n int) stages.Block {
	b, random := stages.NewBlock(2, n), rand.New(rand.NewPCG(9, 1))
	notes := []float64{41.2, 55, 49, 65.41}
	const beat = synthRate * 3 / 5
	phase, air := 0.0, 0.0
	for i := range n {
		s := float64(i%beat) / synthRate
		phase += notes[i/beat%4] / synthRate
		x := 0.0
		for h := 1.0; h <= 4; h++ {
			x += math.Sin(2*math.Pi*h*phase) / (h * h)
		}
		x *= 0.5 * min(1, 100*s) * math.Exp(-1.5*s)
		x += 0.6 * math.Sin(2*math.Pi*(45*s+1.5*(1-math.Exp(-50*s)))) * math.Exp(-12*s)
		noise := random.NormFloat64()
		air += 0.3 * (noise - air)
		x += 0.02 * air
		b[0][i], b[1][i] = x+0.005*noise, x-0.005*noise
	}
	return b
}

func toPeak(b stages.Block) stages.Block {
	peak := 0.0
	for _, x := range b {
		for _, v := range x {
			peak = max(peak, math.Abs(v))
		}
	}
	by := stages.Linear(-1) / peak
	for _, x := range b {
		for i := range x {
			x[i] *= by
		}
	}
	return b
}
