package audiofile

import "slices"

// Container is a form of audio file that can be written, named as its files end: "wav".
type Container string

// WAV is RIFF, and RF64 where a file is too large for it.
const WAV Container = "wav"

// Containers are all of them, the usual one first.
func Containers() []Container { return []Container{WAV} }

// Extension is what the names of its files end in, with the full stop. It is that of WAV for the zero
// Container.
func (c Container) Extension() string {
	if c == "" {
		c = WAV
	}
	return "." + string(c)
}

// Holds says whether files of it can have an encoding.
func (c Container) Holds(e Encoding) bool { return slices.Contains(OutputEncodings(), e) }
