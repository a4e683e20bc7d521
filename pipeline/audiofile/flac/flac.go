// Package flac codes audio without loss, as RFC 9639 has it: blocks of integer samples become frames of bytes
// and the reverse, and what comes before the frames is made and read. It opens no file.
//
// A block is a few thousand samples of each channel. A frame says of each channel how a sample is
// predicted from those before it, and has what the prediction missed: numbers that are mostly small, in
// a code that is short for small numbers. Two channels may instead be kept as one of them, or their mean, and
// their difference.
//
// All decisions are made in integers, or in float64 whose products are rounded before they are summed, so
// that the same samples give the same bytes on every processor.
package flac

// BlockFrames is the length of every block but the last.
const BlockFrames = 4096

// Limits of the format.
const (
	MaxChannels = 8
	MaxRate     = 1<<20 - 1 // Hz, 20 bits
	MaxFrames   = 1<<36 - 1 // of a stream
	maxOrder    = 32        // of a prediction
	maxBlock    = 65535     // frames, 16 bits
	maxResidual = 1<<31 - 1 // magnitude: RFC 9639, 9.2.7.3
)

// Format is the form of a stream's samples.
type Format struct {
	Rate     int // Hz
	Channels int // 1 to MaxChannels
	Bits     int // of a sample: 4 to 32
}

// The ways in which two channels are kept, as a frame's header has them: RFC 9639, 9.1.3. Less than eight is
// the number of channels, each kept as it is, less one.
const (
	leftSide  = 8
	sideRight = 9
	midSide   = 10
)
