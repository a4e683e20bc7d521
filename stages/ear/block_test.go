package ear

// A block is planar audio.
type block = [][]float64

func newBlock(channels, frames int) block {
	b := make(block, channels)
	for c := range b {
		b[c] = make([]float64, frames)
	}
	return b
}

// slice is frames [from, to) of a block.
func slice(b block, from, to int) block {
	s := make(block, len(b))
	for c := range b {
		s[c] = b[c][from:to]
	}
	return s
}
