package inspect

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// find adds what is worth knowing, the most serious first.
func (m *Mix) find(s *scan, r meter.Reading) {
	for c := range s.channels {
		s.channels[c].high.end(s.frames)
		s.channels[c].low.end(s.frames)
	}
	if s.frames == 0 {
		m.note(Finding{Finding: "empty", Text: "no audio in the file"})
		return
	}
	m.findNonFinite(r)
	m.findBeyond(s)
	m.findClipped(s)
	m.findSilent(s)
	m.findAlike(s)
	m.findDC()
	m.findEnds(s)
	m.findUnusedBits()
}

func (m *Mix) note(f Finding) { m.Findings = append(m.Findings, f) }

func (m *Mix) at(frame int64) *float64 {
	t := ledger.Seconds(frame, m.RateHz)
	return &t
}

func (m *Mix) findNonFinite(r meter.Reading) {
	if r.NonFinite == 0 {
		return
	}
	m.note(Finding{
		Finding: "non_finite", Channels: []int{r.NonFiniteChannel + 1}, TimeS: m.at(r.FirstNonFinite),
		Samples: r.NonFinite,
		Text: fmt.Sprintf("%s not a number or infinite, the first at %s in channel %d; the other figures "+
			"leave them out",
			plural(r.NonFinite, "sample"), clock(*m.at(r.FirstNonFinite)), r.NonFiniteChannel+1),
	})
}

func (m *Mix) findBeyond(s *scan) {
	f := Finding{Finding: "beyond_full_scale", TimeS: m.Reading.SamplePeakTimeS}
	for c, ch := range s.channels {
		if ch.beyond > 0 {
			f.Channels = append(f.Channels, c+1)
			f.Samples += ch.beyond
		}
	}
	if f.Samples == 0 {
		return
	}
	f.Text = fmt.Sprintf("%s beyond full scale in %s, the largest %+.2f dBFS at %s",
		plural(f.Samples, "sample"), channelList(f.Channels), *m.Reading.SamplePeakDBFS, clock(*f.TimeS))
	m.note(f)
}

// findClipped names runs of equal samples at a channel's own extreme. Short of
// full scale one such run may be chance; two at the very same value are not.
func (m *Mix) findClipped(s *scan) {
	for c := range s.channels {
		ch := &s.channels[c]
		high, low := m.clipping(&ch.high), m.clipping(&ch.low)
		if !high && !low {
			continue
		}
		var p plateau
		for _, side := range []*plateau{&ch.high, &ch.low} {
			if m.clipping(side) {
				p = p.with(side)
			}
		}
		m.note(Finding{
			Finding: "clipped", Channels: []int{c + 1}, TimeS: m.at(p.frame), Samples: p.samples,
			Text: fmt.Sprintf("channel %d looks clipped at %s: %s of %d equal samples or more, the longest %d, "+
				"the first at %s",
				c+1, m.clipLevel(p.level), plural(p.runs, "run"), clippedRun, p.longest, clock(*m.at(p.frame))),
		})
	}
}

func (m *Mix) clipping(p *plateau) bool {
	return m.fullScale(p.level) && p.runs > 0 || p.level > stages.Linear(plateauNoticed) && p.runs > 1
}

// with is both sides of a channel taken together.
func (p plateau) with(q *plateau) plateau {
	if p.runs == 0 {
		return *q
	}
	return plateau{
		level:   max(p.level, q.level),
		runs:    p.runs + q.runs,
		samples: p.samples + q.samples,
		longest: max(p.longest, q.longest),
		frame:   min(p.frame, q.frame),
	}
}

// fullScale says whether a magnitude is the largest code of the file's
// encoding or, within a longer word, of a 16-bit one.
func (m *Mix) fullScale(magnitude float64) bool {
	bits := 16
	if m.Encoding == audiofile.PCM8 {
		bits = 8
	}
	return magnitude >= 1-math.Ldexp(1, 1-bits)
}

func (m *Mix) clipLevel(magnitude float64) string {
	if magnitude <= 1 && m.fullScale(magnitude) {
		return "full scale"
	}
	return fixed(stages.DB(magnitude), 2) + " dBFS"
}

// allZero says whether every finite sample is zero.
func (s *scan) allZero() bool {
	for i := range s.channels {
		if s.channels[i].peak() > 0 {
			return false
		}
	}
	return true
}

func (m *Mix) findSilent(s *scan) {
	var silent []int
	for c, ch := range s.channels {
		if ch.peak() <= s.loud {
			silent = append(silent, c+1)
		}
	}
	switch {
	case len(silent) == len(s.channels) && s.allZero() && m.Reading.NonFiniteSamples == 0:
		m.note(Finding{Finding: "silent", Text: "the file is silent: all its samples are zero"})
	case len(silent) == len(s.channels):
		m.note(Finding{
			Finding: "silent", Text: fmt.Sprintf("nothing in the file is louder than %d dBFS", silenceDBFS),
		})
	case len(silent) > 0:
		m.note(Finding{Finding: "silent_channel", Channels: silent, Text: channelList(silent) + " silent"})
	}
}

// findAlike compares the channels in pairs.
func (m *Mix) findAlike(s *scan) {
	near := stages.Linear(likenessDB) * stages.Linear(likenessDB)
	for _, p := range s.pairs {
		if min(s.channels[p.a].peak(), s.channels[p.b].peak()) <= s.loud {
			continue
		}
		f := Finding{Finding: "identical_channels", Channels: []int{p.a + 1, p.b + 1}}
		switch {
		case p.difference == 0:
			f.Text = "identical: one channel, twice"
		case p.sum == 0:
			f.Finding, f.Text = "inverted_channels", "the same with opposite signs: they cancel in mono"
		case p.difference < near*p.power():
			f.Text = fmt.Sprintf("all but identical: their difference is more than %d dB below them", -likenessDB)
		case p.sum < near*p.power():
			f.Finding, f.Text = "inverted_channels", "all but the same with opposite signs: they cancel in mono"
		default:
			continue
		}
		f.Text = channelList(f.Channels) + " are " + f.Text
		m.note(f)
	}
}

func (m *Mix) findDC() {
	for c, dc := range m.Reading.DCOffset {
		if db := stages.DB(dc); db >= dcNoticedDBFS {
			m.note(Finding{
				Finding: "dc", Channels: []int{c + 1},
				Text: fmt.Sprintf("channel %d has a DC offset of %s of full scale (%s dBFS)", c+1, offset(dc),
					fixed(db, 1)),
			})
		}
	}
}

// offset is a DC offset with its sign, short also where a file of floating point has an absurd one.
func offset(dc float64) string {
	if math.Abs(dc) >= 1000 {
		return fmt.Sprintf("%+.3g", dc)
	}
	return fmt.Sprintf("%+.4f", dc)
}

// findEnds names long silence at either end, and ends that sound was cut at.
func (m *Mix) findEnds(s *scan) {
	if s.first < 0 {
		return
	}
	abrupt := stages.Linear(abruptDBFS)
	end := m.at(s.last + 1)
	if m.SilenceHeadS >= silenceNoticed {
		m.note(Finding{
			Finding: "silence_head", TimeS: m.at(0),
			Text: fmt.Sprintf("%.2f s of silence before the first sound", m.SilenceHeadS),
		})
	}
	if s.head > abrupt {
		m.note(Finding{
			Finding: "begins_abruptly", TimeS: m.at(0),
			Text: fmt.Sprintf("the first frame is at %s dBFS: cut off at the head?", fixed(stages.DB(s.head), 1)),
		})
	}
	if m.SilenceTailS >= silenceNoticed {
		m.note(Finding{
			Finding: "silence_tail", TimeS: end,
			Text: fmt.Sprintf("%.2f s of silence after the last sound", m.SilenceTailS),
		})
	}
	if s.tail > abrupt {
		m.note(Finding{
			Finding: "ends_abruptly", TimeS: m.at(s.frames - 1),
			Text: fmt.Sprintf("the last frame is at %s dBFS: cut off at the tail?", fixed(stages.DB(s.tail), 1)),
		})
	}
}

// findUnusedBits reports word lengths greater than what they carry: of PCM files at any
// length, of float files if 24 bits would have held every sample.
func (m *Mix) findUnusedBits() {
	if m.WordBits == nil || *m.WordBits == 0 {
		return
	}
	bits, length := *m.WordBits, m.Encoding.WordBits()
	switch length {
	case 0:
		if bits <= 24 && m.Reading.SamplePeakDBFS != nil && *m.Reading.SamplePeakDBFS <= 0 {
			m.note(Finding{
				Finding: "unused_bits",
				Text:    fmt.Sprintf("every sample fits into %d bits: bounced from a fixed-point file?", bits),
			})
		}
	default:
		if bits < length {
			m.note(Finding{
				Finding: "unused_bits",
				Text:    fmt.Sprintf("%d of %d bits are in use: material of a shorter word?", bits, length),
			})
		}
	}
}

// plural is a count with its noun.
func plural(n int64, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.FormatInt(n, 10) + " " + noun + "s"
}

// channelList names channels that count from 1.
func channelList(channels []int) string {
	words := make([]string, len(channels))
	for i, c := range channels {
		words[i] = strconv.Itoa(c)
	}
	if len(words) == 1 {
		return "channel " + words[0]
	}
	last := len(words) - 1
	return "channels " + strings.Join(words[:last], ", ") + " and " + words[last]
}

// clock is a time in seconds as minutes and seconds.
func clock(s float64) string {
	ms := int64(math.Round(s * 1000))
	return fmt.Sprintf("%d:%02d.%03d", ms/60000, ms/1000%60, ms%1000)
}

// fixed is a figure to so many decimals, a zero without a sign.
func fixed(x float64, decimals int) string {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}
