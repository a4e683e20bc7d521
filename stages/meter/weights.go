package meter

import "math/bits"

// Speaker positions of a WAVE channel mask, from its lowest bit upwards
// (WAVEFORMATEXTENSIBLE; channels are in the order of their bits).
const (
	lowFrequency  uint32 = 0x8
	backLeftRight uint32 = 0x10 | 0x20
	sideLeftRight uint32 = 0x200 | 0x400
)

// surround is the weight of a channel at ear height and 60 to 120 degrees from
// the front (ITU-R BS.1770-5 Annex 1 Table 3 and Annex 3 Table 4).
const surround = 1.41

// Weights are the BS.1770-5 weights of a file's channels: 1 in front, at the back
// and above, 1.41 for the surrounds, 0 for the low-frequency channel.
//
// The channel mask of the WAVE header says where each channel is. Side
// speakers are surrounds. Back speakers are surrounds (110 degrees) where
// there are no side speakers, and are at 135 degrees, weight 1, where there
// are. A channel beyond those the mask names weighs 1, and a mask with more
// speakers than channels names the first of them.
//
// A mask of 0 says nothing, and the number of channels decides: five are
// L R C Ls Rs, six are L R C LFE Ls Rs, any other number weigh 1 each.
func Weights(channels int, mask uint32) []float64 {
	w := make([]float64, channels)
	for c := range w {
		w[c] = 1
	}
	if mask == 0 {
		weighByCount(w)
		return w
	}
	surrounds := sideLeftRight
	if mask&sideLeftRight == 0 {
		surrounds = backLeftRight
	}
	for c := 0; c < channels && mask != 0; c++ {
		speaker := uint32(1) << bits.TrailingZeros32(mask)
		mask &^= speaker
		switch {
		case speaker == lowFrequency:
			w[c] = 0
		case speaker&surrounds != 0:
			w[c] = surround
		}
	}
	return w
}

func weighByCount(w []float64) {
	switch len(w) {
	case 5:
		w[3], w[4] = surround, surround
	case 6:
		w[3], w[4], w[5] = 0, surround, surround
	}
}
