package pipeline

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// besideOf is what the output of a render has beside its audio.
func besideOf(r *release.Render, p *track.Pass) (audiofile.Beside, error) {
	b := audiofile.Beside{Container: r.Container, Tags: r.Tags}
	if r.KeepChunks {
		var err error
		if b.Chunks, err = carriedFrom(r.Source, p.Output().Rate, p.File().LeadFrames); err != nil {
			return b, err
		}
	}
	b.History = historyOf(r, p)
	return b, nil
}

// carriedFrom are the chunks of a mix that its master carries over. That the mix is still the one that is
// rendered is found out at the end, as for its audio.
func carriedFrom(path string, rate int, earlier int64) ([]audiofile.Chunk, error) {
	f, err := audiofile.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return f.Carried(rate, earlier)
}

// historyOf is the coding history of a render, as EBU R 98 has it: a line for the mix, and one for the
// master.
func historyOf(r *release.Render, p *track.Pass) []string {
	mix, master := p.Info(), p.Output()
	master.Encoding = r.Encoding
	steps := []string{"Ledgerline"}
	for _, use := range r.Chain {
		if !use.Of().Reads {
			steps = append(steps, stepOf(use))
		}
	}
	return []string{historyLine(mix, "mix"), historyLine(master, strings.Join(steps, "; "))}
}

// historyLine is one line of it, whose text has no commas.
func historyLine(info audiofile.Info, text string) string {
	fields := []string{"A=PCM", fmt.Sprintf("F=%d", info.Rate)}
	if bits := info.Encoding.WordBits(); bits > 0 {
		fields = append(fields, fmt.Sprintf("W=%d", bits))
	}
	if info.Channels <= 2 {
		fields = append(fields, "M="+[]string{"mono", "stereo"}[info.Channels-1])
	}
	return strings.Join(append(fields, "T="+strings.NewReplacer(", ", " ", ",", " ").Replace(text)), ",")
}

// stepOf names a stage and its settings.
func stepOf(use stages.Use) string {
	words := []string{use.Name}
	if use.Name != use.Kind {
		words = append(words, use.Kind)
	}
	for _, key := range slices.Sorted(maps.Keys(use.Settings)) {
		words = append(words, fmt.Sprintf("%s=%v", key, use.Settings[key]))
	}
	return strings.Join(words, " ")
}

// loudnessOf is what the file of an entry reads.
func loudnessOf(t *ledger.Track) audiofile.Loudness {
	b := t.Written()
	if b == nil {
		return audiofile.Loudness{}
	}
	l := audiofile.Loudness{
		IntegratedLUFS: b.LoudnessLUFS, TruePeakDBTP: b.TruePeakDBTP,
		MomentaryLUFS: b.MomentaryMaxLUFS, ShortTermLUFS: b.ShortTermMaxLUFS,
	}
	if l.RangeLU = b.LoudnessRangeLU; l.RangeLU == nil && l.IntegratedLUFS != nil {
		l.RangeLU = new(float64) // the chunk has 0 where there are too few seconds for a range
	}
	return l
}
