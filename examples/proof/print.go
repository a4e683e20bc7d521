package main

import (
	"fmt"
	"io"
	"strings"
	"time"
)

const sinesHead = `SINES  44.1 kHz, a unit sine clipped at half its amplitude, whole cycles, three start phases

  alias  the harmonics over everything else, both up to 20 kHz, dB: mean of the phases, more is better
  over   sample peak over the ceiling, dB: largest of the phases
  true   true peak over the ceiling, dB, by a 32-times Fourier interpolation: largest of the phases

`

func printSines(w io.Writer, rows []sineRow) {
	fmt.Fprint(w, sinesHead)
	head := strings.Repeat(" ", nameWidth)
	for _, hz := range tones {
		head += fmt.Sprintf("  %14g Hz     ", hz)
	}
	fmt.Fprintln(w, strings.TrimRight(head, " "))
	fmt.Fprintf(w, "%-*s%s\n", nameWidth, names("clip", "ceiling_hold"),
		strings.Repeat("    alias   over   true", len(tones)))
	for i, r := range rows {
		begin(w, i, r.chain)
		for _, f := range r.tones {
			fmt.Fprintf(w, "  %7.2f%+7.3f%+7.3f", f.alias, f.over, f.true)
		}
		fmt.Fprintln(w)
	}
}

const programmeHead = `
  over      sample peak over the ceiling, dB: largest of the mixes
  true      true peak over the ceiling, dB, by a 32-times Fourier interpolation: largest of the mixes
  distance  what differs from a plain clip at %d times the rate, up to 20 kHz, relative to it, dB. That render is
            itself about %.0f dB from the band-limited clip. A hold is meant to differ: not given after one
  removed   what the whole chain took from the driven mixes, relative to them, dB
  clamped   samples that a band-limited hold left to its last clamp
  cpu       processor time of the clip and of the hold for a second of audio, all channels, ms

`

func printProgramme(w io.Writer, p *programme, rows []programmeRow) {
	fmt.Fprintf(w, "\nPROGRAMME  driven %+g dB into a ceiling of %g dBFS\n\n", p.drive, p.ceiling)
	for _, m := range p.mixes {
		fmt.Fprintf(w, "  %-18s %6.2f s, %d channels, %5.2f %% of its samples beyond the ceiling\n",
			m.name, m.seconds(), m.format.Channels, 100*m.beyond)
	}
	fmt.Fprintf(w, programmeHead, referenceFactor, p.doubt())
	fmt.Fprintf(w, "%-*s%9s%8s%10s%9s%9s%10s%10s\n", nameWidth, names("clip", "ceiling_hold"),
		"over", "true", "distance", "removed", "clamped", "cpu clip", "cpu hold")
	for i, r := range rows {
		begin(w, i, r.chain)
		distance, clamped, hold := fmt.Sprintf("%.1f", r.distance), "-", "-"
		if r.chain.hold != "" {
			distance, hold = "-", p.cpu(r.hold)
		}
		if r.chain.hold == "band_limited" {
			clamped = fmt.Sprint(r.clamped)
		}
		fmt.Fprintf(w, "  %+7.3f%+8.3f%10s%9.1f%9s%10s%10s\n", r.over, r.true, distance, r.removed, clamped,
			p.cpu(r.clip), hold)
	}
}

// cpu is what a stage takes for a second of audio, ms.
func (p *programme) cpu(spent time.Duration) string {
	return fmt.Sprintf("%.2f", float64(spent)/float64(time.Millisecond)/p.seconds)
}

const nameWidth = 33

func names(clip, hold string) string { return fmt.Sprintf("%-21s%s", clip, hold) }

// begin begins row i, after an empty line if the rows of another hold begin.
func begin(w io.Writer, i int, c chain) {
	if i > 0 && i%len(factors) == 0 {
		fmt.Fprintln(w)
	}
	hold := c.hold
	if hold == "" {
		hold = "-"
	}
	fmt.Fprintf(w, "%-*s", nameWidth, names(c.clipName(), hold))
}
