package coder

import (
	"context"
	"fmt"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// read finds what became of a delivery's file in the one that came back. All of that is read, also what lies
// before the delivery and after it: it is heard, too.
func (f *Found) read(ctx context.Context, file, returned string) error {
	in, err := audiofile.Open(file)
	if err != nil {
		return err
	}
	defer in.Close()
	back, err := audiofile.Open(returned)
	if err != nil {
		return fmt.Errorf("it cannot be read, want a WAV file: %w", err)
	}
	defer back.Close()
	went, came := in.Info(), back.Info()
	switch {
	case came.Channels != went.Channels:
		return fmt.Errorf("it has another number of channels than the delivery, %d and not %d; want a coder that "+
			"keeps them", came.Channels, went.Channels)
	case came.Rate != went.Rate:
		return fmt.Errorf("it has %d Hz, the delivery %d; give the delivery a resample to the coder's rate, or "+
			"have decode return to the delivery's", came.Rate, went.Rate)
	}
	may := int64(missingS * float64(went.Rate))
	if came.Frames < went.Frames-2*may {
		return fmt.Errorf("it is too short: %d frames of the delivery's %d; see that encode writes all and "+
			"decode returns all", came.Frames, went.Frames)
	}
	if f.DelayFrames, err = delayOf(ctx, in, back); err != nil {
		return err
	}
	before, after := -f.DelayFrames, went.Frames+f.DelayFrames-came.Frames
	if before > may || after > may {
		return fmt.Errorf("it is too short: %d of the delivery's %d frames are missing at its start and %d at "+
			"its end; see that encode writes all and decode returns all", max(before, 0), went.Frames, max(after, 0))
	}
	return f.measure(ctx, back)
}

// measure reads what came back.
func (f *Found) measure(ctx context.Context, back *audiofile.Reader) error {
	info := back.Info()
	m := meter.New(meter.Options{
		Rate: info.Rate, Weights: meter.Weights(info.Channels, info.Mask), WholeBand: true,
	})
	if err := each(ctx, back, func(b stages.Block) { m.Write(b) }); err != nil {
		return err
	}
	r := m.Reading()
	f.RateHz, f.SamplePeak, f.TruePeak = info.Rate, r.SamplePeak, r.TruePeak
	f.SampleFrame, f.SampleChannel, f.TrueFrame, f.TrueChannel = -1, -1, -1, -1
	if r.SamplePeak == 0 {
		return nil
	}
	p := newPlace(info.Channels, r.TruePeak)
	if err := each(ctx, back, p.look); err != nil {
		return err
	}
	p.end()
	delay := float64(f.DelayFrames)
	f.SampleFrame, f.SampleChannel = max(0, r.PeakFrame-f.DelayFrames), r.PeakChannel
	f.TrueFrame, f.TrueChannel = max(0, p.frame-delay), p.channel
	return nil
}
