package page

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"ledgerline/pipeline/along"
)

// lanes are what happened along a track, one above the other on one axis of time, for all its chains.
type lanes struct {
	ID      string
	Columns int // of the script's cursor
	SlotS   string
	Lanes   []timeLane
	Times   []tick
	Caption string
	Figures []*table
}

// A timeLane is one figure along the track.
type timeLane struct {
	Name, Of string // in bold, and what it is of
	Size     string // "tall", "mid", "low" or "marks"
	Ticks    []tick
	Lines    []tick // of the picture
	Marks    []mark
	Picture  template.HTML
	Note     string
}

// A mark leads to the picture of a moment.
type mark struct {
	At          template.CSS
	Row         int // of those that would lie on each other
	Text, Label string
	To          string
}

// lanes is nil where no chain of a track has a record.
func (s *sheet) lanes(t *track) *lanes {
	var with []*render
	for _, r := range t.renders {
		if r.along != nil && len(r.along.PeakIn) > 0 {
			with = append(with, r)
		}
	}
	if len(with) == 0 {
		return nil
	}
	a := with[0].along
	seconds := float64(a.Frames) / float64(a.RateHz)
	l := &lanes{ID: t.id, Columns: len(a.PeakIn), SlotS: fmt.Sprintf("%.6g", seconds/float64(len(a.PeakIn)))}
	l.Caption = fmt.Sprintf("Peaks: below the dashed ceiling the master's, above it what the driven mix had "+
		"there and lost. Numbers lead to the ten deepest cuts, letters to the ten moments furthest over the "+
		"mask. A column is %.2g s.",
		seconds/float64(len(a.PeakIn)))
	most := peakTop(with)
	for _, r := range with {
		l.add(markLane(r, "deepest cuts", r.along.Cuts, cutMarks))
		l.add(peakLane(r, r.ceiling(s.ledger.CeilingDBFS), most))
	}
	l.add(loudnessLane(t, with))
	for _, r := range with {
		l.add(removedLane(r))
	}
	for _, r := range with {
		if len(r.along.NoiseToMask) > 0 {
			l.add(markLane(r, "over the mask", r.along.Moments, momentMarks))
			l.add(maskLane(r))
		}
	}
	l.Times = times(seconds)
	for _, r := range with {
		l.Figures = append(l.Figures, alongFigures(r))
	}
	return l
}

func (l *lanes) add(one *timeLane) {
	if one != nil {
		l.Lanes = append(l.Lanes, *one)
	}
}

func times(seconds float64) []tick {
	a := axis{0, seconds, 0, 100}
	step := timeStep(seconds, 14)
	decimals := 0
	if step < 1 {
		decimals = 1
	}
	var all []tick
	for k := 0; float64(k)*step <= seconds*0.985; k++ {
		v := float64(k) * step
		all = append(all, tick{At: a.percent(v), Label: clock(v, decimals), Odd: k%4 != 0})
	}
	return all
}

const lowestPeak = -24.0

// peakTop is above the highest peak of a track's renders, dBFS.
func peakTop(renders []*render) float64 {
	top := 0.0
	for _, r := range renders {
		if peak := r.along.PeakIn.Largest() + 0.5; peak > top {
			top = peak
		}
	}
	return min(top, 40)
}

func peakLane(r *render, ceiling, most float64) *timeLane {
	l := &timeLane{Name: "peaks", Of: "dBFS, " + r.chain, Size: "tall"}
	a := axis{most, lowestPeak, 0, 100}
	for v := 0.0; v > lowestPeak; v -= 6 {
		if math.Abs(v-ceiling) > 2 {
			l.Ticks = append(l.Ticks, tick{At: a.percent(v), Label: fixed(v, 0)})
		}
	}
	l.Ticks = append(l.Ticks, tick{At: a.percent(ceiling), Label: "ceiling", Class: "strong"})
	n := len(r.along.PeakIn)
	d := draw("pk"+r.id, "Peaks along "+r.label(),
		fmt.Sprintf("Sample peaks before, at most %s dBFS, and after, at most %s, against the ceiling of %s.",
			fixed(r.along.PeakIn.Largest(), 2), fixed(r.along.PeakOut.Largest(), 2), fixed(ceiling, 2)), float64(n),
		10*(most-lowestPeak), "none")
	d.grid(n, most, 0, -6, -12, -18)
	floor := int(math.Round(10 * (most - lowestPeak)))
	d.lane("softf", "out", r, most, steps(lane(r.along.PeakOut, most, lowestPeak, most), floor, true))
	line := int(math.Round(10 * (most - ceiling)))
	d.lane("cutf", "in", r, most, steps(lane(r.along.PeakIn, most, ceiling, most), line, true))
	d.line("ceil", 0, float64(line), float64(n), float64(line))
	l.Picture = d.done()
	return l
}

// grid draws lines at levels.
func (d *drawing) grid(columns int, top float64, levels ...float64) {
	for _, v := range levels {
		y := float64(10 * (top - v))
		d.line("g", 0, y, float64(columns), y)
	}
}

// lane draws a path that the script reads back.
func (d *drawing) lane(class, name string, r *render, top float64, steps string) {
	d.add(`<path class="%s" data-lane="%s" data-of="%s" data-top="%s" d="%s"/>`, class, name,
		template.HTMLEscapeString(r.chain), number(10*top), steps)
}

// lines tell the chains' loudness apart without a hue.
var lineStyles = []string{"loud", "loud dash", "loud dots", "loud dashdot"}

func loudnessLane(t *track, with []*render) *timeLane {
	least, most := math.Inf(1), math.Inf(-1)
	for _, r := range with {
		from, _ := r.usual()
		if to := r.along.Momentary.Largest(); !math.IsNaN(from) && !math.IsNaN(to) {
			least, most = min(least, from, to-6), max(most, to)
		}
	}
	if math.IsInf(most, 0) {
		return nil
	}
	least, most = max(-60, float64(math.Floor(least/3)*3)), float64(math.Ceil(most/3+0.01)*3)
	a := axis{most, least, 0, 100}
	l := &timeLane{Name: "loudness", Of: "LUFS, 400 ms", Size: "mid"}
	for _, v := range ticks(least, most, 3) {
		l.Ticks = append(l.Ticks, tick{At: a.percent(v), Label: fixed(v, 0)})
	}
	n := len(with[0].along.Momentary)
	d := draw("lo"+t.id, "Momentary loudness along "+t.name, loudnessWords(with), float64(n),
		float64(10*(most-least)), "none")
	d.grid(n, most, ticks(least, most, 3)...)
	for i, r := range with {
		if len(r.along.Momentary) != n {
			continue // of another length: a mix that was changed
		}
		d.lane(lineStyles[min(i, len(lineStyles)-1)], "loud", r, most,
			steps(lane(r.along.Momentary, most, least-1, most), 0, false))
	}
	l.Picture = d.done()
	if len(with) > 1 {
		names := []string{"solid", "dashed", "dotted", "dash and dot"}
		for i, r := range with[:min(len(with), len(names))] {
			if i > 0 {
				l.Note += ", "
			}
			l.Note += r.chain + " " + names[i]
		}
	}
	return l
}

func loudnessWords(with []*render) string {
	text := ""
	for _, r := range with {
		text += fmt.Sprintf("%s: at most %s LUFS, integrated %s. ", r.chain, fixed(r.along.Momentary.Largest(), 1),
			figure(r.last().LoudnessLUFS, 1))
	}
	return text
}

func removedLane(r *render) *timeLane {
	const least, most = -60.0, 0.0
	l := &timeLane{Name: "removed", Of: "dB, " + r.chain, Size: "low"}
	a := axis{most, least, 0, 100}
	l.Ticks = []tick{{At: a.percent(-20), Label: fixed(-20, 0)}, {At: a.percent(-40), Label: fixed(-40, 0)}}
	n := len(r.along.Removed)
	d := draw("rm"+r.id, "What was removed along "+r.label(),
		fmt.Sprintf("Level relative to the driven input there; %s dB over the whole track.",
			figure(r.whole().RemovedDB, 1)), float64(n), 10*(most-least), "none")
	d.grid(n, most, -20, -40)
	d.lane("cutf", "removed", r, most, steps(lane(r.along.Removed, most, least, most),
		int(10*(most-least)), true))
	l.Picture = d.done()
	return l
}

func maskLane(r *render) *timeLane {
	const least, most = -50.0, 6.0
	l := &timeLane{Name: "noise to mask", Of: "dB, " + r.chain, Size: "low"}
	a := axis{most, least, 0, 100}
	l.Ticks = []tick{
		{At: a.percent(0), Label: "mask", Class: "strong"}, {At: a.percent(-25), Label: fixed(-25, 0)},
	}
	n := len(r.along.NoiseToMask)
	d := draw("nm"+r.id, "Noise to mask along "+r.label(),
		fmt.Sprintf("%s dB over the whole track, at most %s in a column.",
			figure(r.audibility().NoiseToMaskDB, 1), fixed(r.along.NoiseToMask.Largest(), 1)), float64(n),
		10*(most-least), "none")
	d.grid(n, most, -25)
	d.lane("soft2", "mask", r, most, steps(lane(r.along.NoiseToMask, most, least, most),
		int(10*(most-least)), true))
	d.line("ceil", 0, 10*most, float64(n), 10*most)
	l.Picture = d.done()
	return l
}

// A marking is how moments of a kind are named and where they are.
type marking struct {
	kind string // in ids
	name func(k int) string
	what string
}

var (
	cutMarks    = marking{"c", func(k int) string { return fmt.Sprint(k + 1) }, "cut"}
	momentMarks = marking{"m", func(k int) string { return string(rune('a' + k)) }, "moment"}
)

func markLane(r *render, name string, waves []along.Wave, m marking) *timeLane {
	if len(waves) == 0 {
		return nil
	}
	l := &timeLane{Name: "", Of: name, Size: "marks"}
	a := axis{0, float64(max(r.along.Frames, 1)), 0, 100}
	for k, w := range waves {
		l.Marks = append(l.Marks, mark{
			At: a.percent(float64(w.Frame)), Text: m.name(k), To: r.waveID(m, k),
			Label: fmt.Sprintf("%s %s of %s, at %s", m.what, m.name(k), r.label(),
				clock(float64(w.Frame)/float64(r.along.RateHz), 2)),
		})
	}
	rows := spread(l.Marks, waves, r.along.Frames)
	l.Size = fmt.Sprintf("marks rows%d", rows)
	return l
}

// spread puts marks that would lie on each other into at most three rows, in the order of time, and says how
// many.
func spread(marks []mark, waves []along.Wave, frames int64) (rows int) {
	order := make([]int, len(marks))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return int(waves[i].Frame - waves[j].Frame) })
	ends := [3]int64{-1 << 40, -1 << 40, -1 << 40} // of the last mark in each row
	for _, i := range order {
		row := 0
		for k := range ends {
			if ends[k] < ends[row] {
				row = k
			}
			if ends[k] <= waves[i].Frame {
				row = k
				break
			}
		}
		marks[i].Row = row
		ends[row] = waves[i].Frame + frames/40
		rows = max(rows, row+1)
	}
	return rows
}

func (r *render) waveID(m marking, k int) string { return fmt.Sprintf("%s-%s%d", r.id, m.kind, k+1) }

// alongFigures sums the columns up in at most twenty rows.
func alongFigures(r *render) *table {
	a := r.along
	t := &table{Caption: "Along " + r.label() + ", the largest of each stretch", Heads: []head{
		{"from", "", true}, {"peak in", "dBFS", false}, {"peak out", "dBFS", false}, {"loudness", "LUFS", false},
		{"removed", "dB", false}, {"noise to mask", "dB", false}, {"clipped", "samples", false},
	}}
	n := len(a.PeakIn)
	rows := min(20, n)
	for k := range rows {
		from, to := k*n/rows, (k+1)*n/rows
		mask := "none"
		if len(a.NoiseToMask) > 0 {
			mask = fixed(a.NoiseToMask[from:to].Largest(), 1)
		}
		clipped := int64(0)
		for _, c := range a.Clipped[from:to] {
			clipped += c
		}
		t.add(clock(a.Seconds(from), 1), fixed(a.PeakIn[from:to].Largest(), 1),
			fixed(a.PeakOut[from:to].Largest(), 1),
			fixed(a.Momentary[from:to].Largest(), 1), fixed(a.Removed[from:to].Largest(), 1), mask,
			fmt.Sprint(clipped))
	}
	return t
}
