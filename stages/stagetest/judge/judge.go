package judge

import (
	"fmt"
	"math"

	"ledgerline/stages"
	"ledgerline/stages/ear"
	"ledgerline/stages/meter"
)

// A Verdict is what the judges find of a chain's output against its driven input.
type Verdict struct {
	DriveDB    float64 // the input was driven by
	Loudness   float64 // LUFS, integrated, of the output
	TruePeak   float64 // dBTP of the output
	NoiseDB    float64 // noise to mask, after BS.1387
	Disturbed  float64 // percent of the windows, after BS.1387
	Second     Share
	Bass       float64 // percent of the frames
	RemovedDB  float64 // relative to the driven input
	BassLostDB float64 // level of 30 to 120 Hz, output against driven input
}

func (v Verdict) String() string {
	return fmt.Sprintf("drive %5.2f dB, %6.2f LUFS, %6.3f dBTP, noise to mask %6.1f dB, disturbed %6.2f %%, "+
		"second %6.2f %%, by 6 dB %6.2f %%, bass %6.2f %%, removed %6.1f dB, 30-120 Hz %+5.2f dB",
		v.DriveDB, v.Loudness, v.TruePeak, v.NoiseDB, v.Disturbed, v.Second.Over, v.Second.BySix, v.Bass,
		v.RemovedDB, v.BassLostDB)
}

// A Programme is audio to be driven.
type Programme struct {
	Name  string
	Rate  int
	Audio stages.Block
}

// A Chain makes stages for a format.
type Chain func(stages.Format) []stages.Stage

// Render is what a chain makes of the programme driven by so many dB, and that input.
func (p Programme) Render(chain Chain, driveDB float64) (in, out stages.Block) {
	in = stages.NewBlock(len(p.Audio), p.Audio.Frames())
	by := stages.Linear(driveDB)
	for c := range in {
		for i, v := range p.Audio[c] {
			in[c][i] = by * v
		}
	}
	out = in
	for _, s := range chain(stages.Format{Rate: p.Rate, Channels: len(in)}) {
		out = s.Flush(s.Process(stages.NewBlock(len(in), 0), out))
	}
	return in, out
}

// Loudness is the integrated loudness of a block in LUFS, and its true peak in dBTP.
func (p Programme) Loudness(b stages.Block) (lufs, dbtp float64) {
	m := meter.New(meter.Options{Rate: p.Rate, Weights: meter.Weights(len(b), 0)})
	m.Write(b)
	r := m.Reading()
	return r.Integrated, stages.DB(r.TruePeak)
}

// Judge has a chain judged at a drive.
func (p Programme) Judge(chain Chain, driveDB float64) Verdict {
	in, out := p.Render(chain, driveDB)
	v := Verdict{DriveDB: driveDB, Second: Second(p.Rate, in, out), Bass: Bass(p.Rate, in, out)}
	v.Loudness, v.TruePeak = p.Loudness(out)
	v.NoiseDB, v.Disturbed = p.Ear(in, out)
	sum, energy := 0.0, 0.0
	for c := range in {
		for i, x := range in[c] {
			sum += (x - out[c][i]) * (x - out[c][i])
			energy += x * x
		}
	}
	v.RemovedDB = 10 * math.Log10(sum/energy)
	v.BassLostDB = 10 * math.Log10(bassEnergy(p.Rate, out)/bassEnergy(p.Rate, in))
	return v
}

// Ear is the reading after BS.1387.
func (p Programme) Ear(in, out stages.Block) (noiseDB, disturbed float64) {
	r := ear.NewReader(ear.Options{Rate: p.Rate, Channels: len(in)})
	r.Write(in, out)
	r.End()
	reading, _ := r.Reading(0)
	return reading.NoiseToMask.Value, reading.Disturbed.Value
}

// MatchedDrive is the drive at which a chain's output has a loudness, within a hundredth of a LU, sought from
// one on.
func (p Programme) MatchedDrive(chain Chain, lufs, fromDB float64) float64 {
	at := func(drive float64) float64 {
		_, out := p.Render(chain, drive)
		l, _ := p.Loudness(out)
		return l
	}
	drive := fromDB
	for range 12 {
		miss := lufs - at(drive)
		if math.Abs(miss) < 0.01 {
			break
		}
		drive += 1.2 * miss // a limited programme grows by less than it is driven by
	}
	return drive
}
