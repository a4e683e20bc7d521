// Package inspect reads a mix before it is accepted: its figures, and what a
// careful engineer wants to know about it.
package inspect

import (
	"context"
	"errors"
	"io"

	"golang.org/x/sync/errgroup"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// Schema is the version of the JSON form that Encode writes.
const Schema = 1

// Mix is what a mix shows before it is accepted: its reading, and what
// a careful engineer wants to know. Levels are rounded to 1e-4.
type Mix struct {
	File      string             `json:"file"`
	Encoding  audiofile.Encoding `json:"encoding"`
	RateHz    int                `json:"rate_hz"`
	Channels  int                `json:"channels"`
	Frames    int64              `json:"frames"`
	DurationS float64            `json:"duration_s"`
	// the shortest word that holds every sample; null: none of 32 bits does
	WordBits         *int            `json:"word_bits"`
	ChannelPeaksDBFS []*float64      `json:"channel_peaks_dbfs"` // null: the channel is silent
	SilenceHeadS     float64         `json:"silence_head_s"`     // below -80 dBFS in every channel
	SilenceTailS     float64         `json:"silence_tail_s"`
	Reading          ledger.Boundary `json:"reading"`
	// as the filter of ITU-R BS.1770-5, Annex 2, reads it; null: silence
	TruePeakBS1770DBTP *float64 `json:"true_peak_bs1770_dbtp"`
	// as a windowed sinc of 49 taps reads it; null: silence
	TruePeakSinc49DBTP *float64  `json:"true_peak_sinc49_dbtp"`
	Findings           []Finding `json:"findings"`
}

// Finding is one thing worth knowing about a mix.
type Finding struct {
	Finding  string   `json:"finding"` // what it is, in one word: see findings
	Channels []int    `json:"channels,omitempty"`
	TimeS    *float64 `json:"time_s,omitempty"` // where it is first
	Samples  int64    `json:"samples,omitempty"`
	Text     string   `json:"text"` // the same for people
}

// blockFrames is the length of the blocks in which a mix is read.
const blockFrames = 8192

// Files reads files as File does, jobs at a time; 0 counts as 1. Results and errors are
// in the order of the files; one of the two is nil.
func Files(ctx context.Context, paths []string, jobs int) ([]*Mix, []error) {
	found, errs := make([]*Mix, len(paths)), make([]error, len(paths))
	var g errgroup.Group
	g.SetLimit(max(jobs, 1))
	for i, path := range paths {
		g.Go(func() error {
			found[i], errs[i] = File(ctx, path)
			return nil
		})
	}
	_ = g.Wait()
	return found, errs
}

// File reads a WAV file from end to end, until ctx is cancelled. It changes
// nothing. Errors name the file.
func File(ctx context.Context, path string) (*Mix, error) {
	r, err := audiofile.Open(path)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	info := r.Info()
	s := newScan(info.Channels, info.Encoding.WordBits())
	read := meter.New(meter.Options{
		Rate: info.Rate, Weights: meter.Weights(info.Channels, info.Mask), WholeBand: true,
	})
	bs1770, sinc49 := meter.NewShort(info.Rate, info.Channels)
	if err := eachBlock(ctx, r, func(b stages.Block) {
		s.add(b)
		read.Write(b)
		bs1770.Write(b) // sinc49 reads it, too
	}); err != nil {
		return nil, err
	}
	m := newMix(path, info, s, read.Reading())
	m.TruePeakBS1770DBTP, m.TruePeakSinc49DBTP = ledger.Level(stages.DB(bs1770.Peak())),
		ledger.Level(stages.DB(sinc49.Peak()))
	return m, nil
}

// eachBlock hands on a file's audio block by block.
func eachBlock(ctx context.Context, r *audiofile.Reader, use func(stages.Block)) error {
	b := stages.NewBlock(r.Info().Channels, blockFrames)
	for ctx.Err() == nil {
		n, err := r.Read(b)
		use(b.Slice(0, n))
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
	return ctx.Err()
}

func newMix(path string, info audiofile.Info, s *scan, r meter.Reading) *Mix {
	m := &Mix{
		File:      path,
		Encoding:  info.Encoding,
		RateHz:    info.Rate,
		Channels:  info.Channels,
		Frames:    s.frames,
		DurationS: ledger.Seconds(s.frames, info.Rate),
		Reading:   ledger.NewBoundary(0, "source", r, info.Rate, 0),
		Findings:  []Finding{},
	}
	for _, c := range s.channels {
		m.ChannelPeaksDBFS = append(m.ChannelPeaksDBFS, ledger.Level(stages.DB(c.peak())))
	}
	if bits, ok := s.wordBits(); ok {
		m.WordBits = &bits
	}
	head, tail := s.silence()
	m.SilenceHeadS, m.SilenceTailS = ledger.Seconds(head, info.Rate), ledger.Seconds(tail, info.Rate)
	m.find(s, r)
	return m
}

// silence is the number of silent frames before and after all sound; of a mix
// without sound, all of them in both.
func (s *scan) silence() (head, tail int64) {
	if s.first < 0 {
		return s.frames, s.frames
	}
	return s.first, s.frames - 1 - s.last
}

// wordBits is the shortest word that holds every sample of every channel.
func (s *scan) wordBits() (int, bool) {
	var all wordScan
	for _, c := range s.channels {
		all.used |= c.word.used
		all.fraction = all.fraction || c.word.fraction
	}
	return all.bits()
}
