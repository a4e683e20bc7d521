package audiofile

import (
	"encoding/binary"
	"math"
	"strings"
)

// The lengths of the fields of a bext chunk, and where those are that are filled in: EBU Tech 3285, version
// 2.
const (
	bextDescription = 256
	bextOriginator  = 32
	bextReference   = 32

	bextDateAt      = bextDescription + bextOriginator + bextReference
	bextTimeRefAt   = bextDateAt + 10 + 8
	bextVersionAt   = bextTimeRefAt + 8
	bextUMIDAt      = bextVersionAt + 2
	bextLoudnessAt  = bextUMIDAt + 64
	bextReservedAt  = bextLoudnessAt + 10
	bextFixed       = bextReservedAt + 180
	bextNotMeasured = 0x7FFF
)

// Loudness is what a bext chunk says of the audio. A nil figure was not to be had.
type Loudness struct {
	IntegratedLUFS, RangeLU, TruePeakDBTP, MomentaryLUFS, ShortTermLUFS *float64
}

// bytes are the ten bytes of the figures, in hundredths.
func (l Loudness) bytes() []byte {
	var p []byte
	for _, v := range []*float64{l.IntegratedLUFS, l.RangeLU, l.TruePeakDBTP, l.MomentaryLUFS, l.ShortTermLUFS} {
		code := int16(bextNotMeasured)
		if v != nil && math.Abs(*v) < 100 {
			code = int16(math.Round(float64(*v * 100)))
		}
		p = binary.LittleEndian.AppendUint16(p, uint16(code))
	}
	return p
}

// newBext is a bext chunk's payload without its figures of loudness. What a mix's own says stays where the
// tags say nothing else; the history goes on from its own. The mix's UMID is not that of what was made of it.
func newBext(t Tags, own []byte, history []string) []byte {
	p := make([]byte, bextFixed)
	copy(p[:bextVersionAt], own)
	set := func(at, length int, text string) {
		if text != "" {
			clear(p[at : at+length])
			copy(p[at:at+length], ascii(text))
		}
	}
	set(0, bextDescription, t.Title)
	if len(own) == 0 {
		set(bextDescription, bextOriginator, vendor)
	}
	reference := t.ISRC
	if reference == "" {
		reference = t.CatalogueNumber
	}
	set(bextDescription+bextOriginator, bextReference, reference)
	if len(t.Date) == 10 {
		set(bextDateAt, 10, t.Date)
	}
	binary.LittleEndian.PutUint16(p[bextVersionAt:], 2)
	copy(p[bextLoudnessAt:], Loudness{}.bytes())
	if len(own) > bextFixed {
		p = append(p, strings.TrimRight(string(own[bextFixed:]), "\x00\r\n")...)
	}
	if len(p) > bextFixed {
		p = append(p, "\r\n"...)
		history = history[min(1, len(history)):] // it ends with what the mix is
	}
	for _, line := range history {
		p = append(append(p, ascii(line)...), "\r\n"...)
	}
	return p
}

// latin are the letters at the places U+00C0 to U+00FF without their accents.
const latin = "AAAAAAACEEEEIIIIDNOOOOOxOUUUUYTsaaaaaaaceeeeiiiidnooooo/ouuuuyty"

// ascii is a text in the characters that a bext chunk has: letters lose their accents, and what is left
// becomes a question mark.
func ascii(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= ' ' && r <= '~':
			return r
		case r >= 0xC0 && r <= 0xFF:
			return rune(latin[r-0xC0])
		}
		return '?'
	}, text)
}
