package listen

import (
	"math"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/trial"
	"ledgerline/stages"
)

type releaseView struct {
	Room   int        `json:"room"` // 0: nothing is rendered yet
	Title  string     `json:"title"`
	Tracks []string   `json:"tracks"`
	Plans  []planView `json:"plans"` // of abx, by number of trials
}

type planView struct {
	Trials int     `json:"trials"`
	Needed int     `json:"needed"`
	Power  float64 `json:"power"`
}

// most is the largest number of trials whose power is told.
const most = 100

// describe is what the page is told first; of no room only that there is none.
func (r *Room) describe() releaseView {
	v := releaseView{Tracks: []string{}}
	if r != nil {
		v.Room, v.Title = r.number, r.title
		for _, t := range r.tracks {
			v.Tracks = append(v.Tracks, t.name)
		}
	}
	for n := 1; n <= most; n++ {
		v.Plans = append(v.Plans, planView{n, trial.Needed(n), trial.Power(n, trial.SupposedRight)})
	}
	return v
}

type trackView struct {
	Name     string       `json:"name"`
	RateHz   int          `json:"rate_hz"`
	Channels int          `json:"channels"`
	Frames   int64        `json:"frames"`
	Block    int          `json:"block"` // frames
	Sources  []sourceView `json:"sources"`
	SpreadLU float64      `json:"spread_lu"` // between the loudest and the quietest as they are played
	PeakDBFS float64      `json:"peak_dbfs"` // the highest of all as they are played
	Moments  []moment     `json:"moments"`   // worst first
	Peaks    along.Levels `json:"peaks"`     // of a master, dBFS, a column each
	Notes    []string     `json:"notes"`
}

type sourceView struct {
	Name     string  `json:"name"`
	File     string  `json:"file"`
	SHA256   string  `json:"sha256"`
	Loudness float64 `json:"loudness_lufs"`
	GainDB   float64 `json:"gain_db"`
	Matched  float64 `json:"matched_lufs"`
	Silent   bool    `json:"silent"` // it has no loudness
}

// describe is what the page is told of a track that is ready.
func (t *track) describe() trackView {
	t.mu.Lock()
	defer t.mu.Unlock()
	info := t.sources[0].file.Info()
	v := trackView{
		Name: t.name, RateHz: info.Rate, Channels: info.Channels, Frames: t.frames(), Block: batch,
		SpreadLU: math.Round(t.spread*1e4) / 1e4, Moments: t.moments, Peaks: t.peaks,
		Notes: append([]string{}, t.notes...),
	}
	var peak float64
	for _, s := range t.sources {
		w := sourceView{Name: s.Name, File: s.File, SHA256: s.SHA256, GainDB: s.GainDB}
		if w.Silent = math.IsInf(s.MatchedLUFS, 0); !w.Silent {
			w.Loudness, w.Matched = s.LoudnessLUFS, s.MatchedLUFS
		}
		v.Sources = append(v.Sources, w)
		peak = max(peak, s.peak)
	}
	if v.PeakDBFS = -200; peak > 0 {
		v.PeakDBFS = stages.DB(peak)
	}
	return v
}
