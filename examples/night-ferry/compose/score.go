package main

import "strings"

// grid is a piece's time: equal steps, of which every other may come late.
type grid struct {
	start, step float64 // seconds
	swing       float64 // how late, as a part of a step
}

// time is when step n begins, in seconds.
func (g grid) time(n int) float64 {
	late := 0.0
	if n%2 == 1 {
		late = float64(g.swing * g.step)
	}
	return g.start + float64(float64(n)*g.step) + late
}

// strike is one blow of an instrument, strength 0..1.
type strike func(strength float64) []float64

// beat strikes once for each mark of a pattern: X hard, x less, o barely, a
// point is a rest. Blanks are for the eye.
func (b bus) beat(g grid, s seat, pattern string, hit strike) {
	for n, mark := range strings.ReplaceAll(pattern, " ", "") {
		switch mark {
		case 'X':
			b.add(g.time(n), hit(1), s)
		case 'x':
			b.add(g.time(n), hit(0.7), s)
		case 'o':
			b.add(g.time(n), hit(0.35), s)
		}
	}
}

// voice is one note of an instrument, held for so many seconds.
type voice func(hz, seconds float64) []float64

// line plays a melody: a word a step, a note's name, a point for a rest, or a
// dash that holds the note before it.
func (b bus) line(g grid, s seat, melody string, play voice) {
	words := strings.Fields(melody)
	for n, word := range words {
		if word == "." || word == "-" {
			continue
		}
		end := n + 1
		for end < len(words) && words[end] == "-" {
			end++
		}
		b.add(g.time(n), play(hz(word), g.time(end)-g.time(n)), s)
	}
}

// spread is where the notes of a chord are heard, the lowest at one end and the
// highest at the other.
type spread struct{ from, to, db float64 }

// chord plays two notes or more at once.
func (b bus) chord(at, seconds float64, s spread, notes string, play voice) {
	names := strings.Fields(notes)
	for n, name := range names {
		part := float64(n) / float64(len(names)-1)
		pan := s.from + float64(part*(s.to-s.from))
		b.add(at, play(hz(name), seconds), seat{pan, s.db})
	}
}
