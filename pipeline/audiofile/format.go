package audiofile

import "encoding/binary"

// Format tags, and the tail that the identifiers of an extensible header's
// sub-formats have in common after their first two bytes: WAVEFORMATEXTENSIBLE.
const (
	tagPCM        = 1
	tagFloat      = 3
	tagALaw       = 6
	tagMuLaw      = 7
	tagExtensible = 0xFFFE

	subFormatTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71"
)

// Limits of what is read and written.
const (
	minRate     = 8000
	maxRate     = 384000
	maxChannels = 64
)

// fmtSize is as much of a fmt chunk as means anything: an extensible header.
const fmtSize = 40

// codec is one encoding at work.
type codec struct {
	size   int // bytes a sample
	decode decoder
	encode encoder // nil where it cannot be written
}

func (e Encoding) codec() (codec, bool) {
	switch e {
	case PCM8:
		return codec{1, decode8, nil}, true
	case PCM16:
		return codec{2, decode16, encode16}, true
	case PCM24:
		return codec{3, decode24, encode24}, true
	case PCM32:
		return codec{4, decode32, encode32}, true
	case Float32:
		return codec{4, decodeFloat32, encodeFloat32}, true
	case Float64:
		return codec{8, decodeFloat64, encodeFloat64}, true
	}
	return codec{}, false
}

// tag is the encoding's format tag.
func (e Encoding) tag() uint16 {
	if e.float() {
		return tagFloat
	}
	return tagPCM
}

// float says whether the encoding's samples are floating point.
func (e Encoding) float() bool { return e == Float32 || e == Float64 }

// WordBits is the length in bits of the encoding's whole numbers: 8, 16, 24 or
// 32; 0 of floating point.
func (e Encoding) WordBits() int {
	if c, ok := e.codec(); ok && !e.float() {
		return 8 * c.size
	}
	return 0
}

// parseFmt reads the payload of a fmt chunk, or its first fmtSize bytes.
func parseFmt(p []byte) (Info, error) {
	if len(p) < 16 {
		return Info{}, faultf(ErrCorrupt, "", "%d bytes, want 16 or more", len(p))
	}
	le := binary.LittleEndian
	f := Info{Channels: int(le.Uint16(p[2:])), Rate: int(le.Uint32(p[4:]))}
	tag, align, bits := le.Uint16(p), int(le.Uint16(p[12:])), int(le.Uint16(p[14:]))
	if err := checkShape(f.Channels, f.Rate); err != nil {
		return f, err
	}
	var err error
	if tag == tagExtensible {
		if tag, err = parseExtensible(p, bits); err != nil {
			return f, err
		}
		f.Mask = le.Uint32(p[20:])
	}
	if f.Encoding, err = encodingOf(tag, bits); err != nil {
		return f, err
	}
	if want := f.Channels * bits / 8; align != want {
		return f, faultf(ErrCorrupt, "", "%d bytes a frame, want %d for %d channels of %d bits", align, want,
			f.Channels, bits)
	}
	return f, nil
}

func checkShape(channels, rate int) error {
	switch {
	case channels == 0:
		return faultf(ErrCorrupt, "", "0 channels, want 1 to %d", maxChannels)
	case channels < 0 || channels > maxChannels:
		return faultf(ErrUnsupported, "", "%d channels, want 1 to %d", channels, maxChannels)
	case rate == 0:
		return faultf(ErrCorrupt, "", "sample rate 0 Hz, want %d to %d", minRate, maxRate)
	case rate < minRate || rate > maxRate:
		return faultf(ErrUnsupported, "", "sample rate %d Hz, want %d to %d", rate, minRate, maxRate)
	}
	return nil
}

// parseExtensible returns the tag of an extensible header's sub-format.
func parseExtensible(p []byte, bits int) (uint16, error) {
	le := binary.LittleEndian
	if len(p) < fmtSize {
		return 0, faultf(ErrCorrupt, "", "extensible header of %d bytes, want %d", len(p), fmtSize)
	}
	if n := le.Uint16(p[16:]); n < 22 {
		return 0, faultf(ErrCorrupt, "", "extensible header with an extension of %d bytes, want 22", n)
	}
	// Writers that do not know put 0 valid bits.
	if valid := int(le.Uint16(p[18:])); valid > bits {
		return 0, faultf(ErrCorrupt, "", "%d valid bits in a container of %d", valid, bits)
	}
	if string(p[26:40]) != subFormatTail {
		return 0, faultf(ErrUnsupported, "", "sub-format % x, want PCM or IEEE float", p[24:40])
	}
	return le.Uint16(p[24:]), nil
}

func encodingOf(tag uint16, bits int) (Encoding, error) {
	switch tag {
	case tagPCM:
		switch bits {
		case 8:
			return PCM8, nil
		case 16:
			return PCM16, nil
		case 24:
			return PCM24, nil
		case 32:
			return PCM32, nil
		}
		return "", faultf(ErrUnsupported, "", "PCM of %d bits, want 8, 16, 24 or 32", bits)
	case tagFloat:
		switch bits {
		case 32:
			return Float32, nil
		case 64:
			return Float64, nil
		}
		return "", faultf(ErrUnsupported, "", "float of %d bits, want 32 or 64", bits)
	}
	return "", faultf(ErrUnsupported, "", "format tag %d%s, want %d (PCM), %d (float) or %d (extensible)",
		tag, tagName(tag), tagPCM, tagFloat, tagExtensible)
}

func tagName(tag uint16) string {
	switch tag {
	case tagALaw:
		return " (A-law)"
	case tagMuLaw:
		return " (mu-law)"
	}
	return ""
}
