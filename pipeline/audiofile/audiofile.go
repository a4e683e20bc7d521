// Package audiofile reads and writes audio in WAV files: RIFF, and RF64 or
// BW64 beyond 4 GiB.
//
// Samples are float64 and planar, -1..+1 = full scale. An integer code is
// code / 2^(bits-1), both ways, so that reading and writing again changes
// no bit: full scale is the smallest code, and the largest code is one step
// below +1. Which of the two is called 1 is not fixed by any standard; the
// power of two keeps every conversion exact. Eight-bit samples are unsigned
// around 128. Codes with fewer valid bits than their container (20 in 24) are
// left-justified, and so are read as the container's. Writing integers rounds
// to nearest, ties to even; writing float32 does the same to its precision;
// float64 passes bit for bit.
//
// A file that is read is checked in full before its first sample is handed out:
// every chunk's size against the file. A file that is written appears whole or
// not at all, as package whole has it.
package audiofile

import "slices"

// Encoding is how a file stores a sample.
type Encoding string

// The encodings that can be read. PCM8 cannot be written.
const (
	PCM8    Encoding = "pcm8"
	PCM16   Encoding = "pcm16"
	PCM24   Encoding = "pcm24"
	PCM32   Encoding = "pcm32"
	Float32 Encoding = "float32"
	Float64 Encoding = "float64"
)

// OutputEncodings are the encodings that can be written, shortest first.
func OutputEncodings() []Encoding {
	return []Encoding{PCM16, PCM24, PCM32, Float32, Float64}
}

func (e Encoding) writable() bool { return slices.Contains(OutputEncodings(), e) }

// Info is what a file's header says of its audio.
type Info struct {
	Rate     int   // frames a second, 8000 to 384000
	Channels int   // 1 to 64
	Frames   int64 // 0 or more
	Encoding Encoding
	Mask     uint32 // channel mask of an extensible header: one bit a loudspeaker; 0 = none
}
