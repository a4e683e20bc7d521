package stages

// Block is a stretch of planar audio: one slice a channel, all of one length.
type Block [][]float64

// NewBlock returns a block of the given number of channels and frames, zeroed.
func NewBlock(channels, frames int) Block {
	b := make(Block, channels)
	for c := range b {
		b[c] = make([]float64, frames)
	}
	return b
}

// Frames is the number of frames of b: 0 for a block without channels.
func (b Block) Frames() int {
	if len(b) == 0 {
		return 0
	}
	return len(b[0])
}

// Slice is the frames [from, to) of b. It shares b's memory.
func (b Block) Slice(from, to int) Block {
	s := make(Block, len(b))
	for c := range b {
		s[c] = b[c][from:to]
	}
	return s
}

// Append adds the frames of src to b, channel by channel, as append does.
func (b Block) Append(src Block) Block {
	for c := range b {
		b[c] = append(b[c], src[c]...)
	}
	return b
}

// Empty is b with no frames and all of its capacity. It changes b itself.
func (b Block) Empty() Block {
	for c := range b {
		b[c] = b[c][:0]
	}
	return b
}
