package audiofile

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"ledgerline/pipeline/audiofile/flac"
)

// mostComments bounds how much of a FLAC file's comments is read.
const mostComments = 1 << 20

// flacNames are what Reader.Chunks calls the blocks before the frames that say something beside the audio.
var flacNames = map[int]string{
	flac.Application: "APPLICATION", flac.Cuesheet: "CUESHEET", flac.Picture: "PICTURE",
}

// scanFLAC checks what is before the frames of a FLAC file.
func scanFLAC(r io.ReaderAt, size int64) (l layout, err error) {
	at, err := flacStart(r, size)
	if err != nil {
		return l, err
	}
	var info flac.Info
	var mask *uint32
	for n := 0; ; n++ {
		kind, last, length, err := flacBlock(r, at, size)
		if err != nil {
			return l, err
		}
		place := fmt.Sprintf("block at byte %d", at)
		if (kind == 0) != (n == 0) {
			return l, faultf(ErrCorrupt, place, "of type %d, want type 0 first, and only there", kind)
		}
		data := make([]byte, min(length, mostComments))
		if kind == 0 || kind == flac.Comments {
			if err := readAt(r, data, at+4); err != nil {
				return l, err
			}
		}
		switch {
		case kind == 0:
			if info, err = flac.ParseInfo(data); err != nil {
				return l, faultf(ErrCorrupt, place, "%v", err)
			}
		case kind == flac.Comments:
			all, _ := flac.ParseComments(data) // texts that cannot be read are no reason to refuse the audio
			if len(all) > 0 {
				l.beside = named(l.beside, "VORBIS_COMMENT")
			}
			mask = maskOf(all)
		case flacNames[kind] != "":
			l.beside = named(l.beside, flacNames[kind])
		}
		if at += 4 + length; last {
			break
		}
	}
	return l, l.setFLAC(info, mask, at, size)
}

// flacStart is the offset of the first block.
func flacStart(r io.ReaderAt, size int64) (int64, error) {
	var p [10]byte
	at := int64(0)
	if size >= 10 {
		if err := readAt(r, p[:], 0); err != nil {
			return 0, err
		}
		if string(p[:3]) == "ID3" { // which some programs put before the file; its size has 7 bits a byte
			at = 10 + int64(p[6]&0x7F)<<21 + int64(p[7]&0x7F)<<14 + int64(p[8]&0x7F)<<7 + int64(p[9]&0x7F)
		}
	}
	if at+4 > size {
		return 0, faultf(ErrCorrupt, "", "it ends after %d bytes, before its first block", size)
	}
	if err := readAt(r, p[:4], at); err != nil {
		return 0, err
	}
	if string(p[:4]) != flac.Magic {
		return 0, afterTag(p[:4], at)
	}
	return at + 4, nil
}

// afterTag says what a file is that begins with a tag and is no FLAC file after it.
func afterTag(p []byte, at int64) error {
	// the eleven set bits that an audio frame of ISO/IEC 11172-3 begins with
	if p[0] == 0xFF && p[1]&0xE0 == 0xE0 {
		return faultf(ErrNotAudio, "", "MPEG audio, such as MP3, after a tag of %d bytes", at)
	}
	return faultf(ErrNotAudio, "", "%q after a tag of %d bytes", p, at)
}

// flacBlock reads the head of the block at an offset.
func flacBlock(r io.ReaderAt, at, size int64) (kind int, last bool, length int64, err error) {
	var p [4]byte
	if at+4 > size {
		return 0, false, 0, faultf(ErrCorrupt, fmt.Sprintf("at byte %d", at),
			"the file ends where a block should begin")
	}
	if err := readAt(r, p[:], at); err != nil {
		return 0, false, 0, err
	}
	length = int64(p[1])<<16 | int64(p[2])<<8 | int64(p[3])
	if length > size-at-4 {
		return 0, false, 0, faultf(ErrCorrupt, fmt.Sprintf("block at byte %d", at),
			"it claims %d bytes, but the file has %d more", length, size-at-4)
	}
	return int(p[0] & 0x7F), p[0]>>7 == 1, length, nil
}

// maskOf is what comments say of the loudspeakers that the channels are for; nil: nothing.
func maskOf(all []flac.Comment) *uint32 {
	for _, c := range all {
		if strings.EqualFold(c.Name, maskName) {
			if v, err := strconv.ParseUint(c.Text, 0, 32); err == nil {
				mask := uint32(v)
				return &mask
			}
		}
	}
	return nil
}

// setFLAC fills in what the blocks have told of frames that begin at an offset.
func (l *layout) setFLAC(info flac.Info, mask *uint32, data, size int64) error {
	bytes := (info.Bits + 7) / 8
	l.info = Info{
		Rate: info.Rate, Channels: info.Channels, Frames: info.Frames,
		Encoding: [5]Encoding{1: PCM8, 2: PCM16, 3: PCM24, 4: PCM32}[bytes],
	}
	if err := checkShape(info.Channels, info.Rate); err != nil {
		return err
	}
	if info.Channels > 2 {
		l.info.Mask = usualMask(info.Channels)
	}
	if mask != nil {
		l.info.Mask = *mask
	}
	if info.Frames == 0 && data < size {
		return faultf(ErrUnsupported, "", "it does not say how long it is, as one that was written into a pipe; "+
			"encode it again, into a file")
	}
	l.frame, l.data, l.coded = int64(bytes*info.Channels), data, true
	if most := int64(math.MaxInt64) / 16 / l.frame; info.Frames > most {
		return faultf(ErrCorrupt, "", "%d frames, want %d at most", info.Frames, most)
	}
	l.open = func(file io.ReaderAt, from, _ int64) (io.Reader, error) {
		s := newFlacSource(file, info, data, size)
		// from the start, since its frames have to follow each other
		_, err := io.CopyN(io.Discard, s, from*int64(bytes*info.Channels))
		return s, err
	}
	if bytes == 1 {
		l.fix = unsign
	}
	return nil
}

// unsign makes the signed bytes of other forms the unsigned ones of WAV.
func unsign(p []byte) {
	for i := range p {
		p[i] ^= 0x80
	}
}
