package audiofile

import (
	"fmt"
	"slices"

	"ledgerline/pipeline/audiofile/flac"
)

// Container is a form of audio file that can be written, named as its files end: "wav".
type Container string

// WAV is RIFF, and RF64 where a file is too large for it. FLAC codes whole numbers without loss: RFC 9639.
const (
	WAV  Container = "wav"
	FLAC Container = "flac"
)

// Containers are all of them, the usual one first.
func Containers() []Container { return []Container{WAV, FLAC} }

// Extension is what the names of its files end in, with the full stop. It is that of WAV for the zero
// Container.
func (c Container) Extension() string {
	if c == "" {
		c = WAV
	}
	return "." + string(c)
}

// Fits fails if files of it have not so many channels.
func (c Container) Fits(channels int) error {
	if c == FLAC && channels > flac.MaxChannels {
		return fmt.Errorf("%d channels, want %d at most in a %s file", channels, flac.MaxChannels, c)
	}
	return nil
}

// Holds says whether files of it can have an encoding.
func (c Container) Holds(e Encoding) bool {
	return slices.Contains(OutputEncodings(), e) && (c != FLAC || !e.float())
}
