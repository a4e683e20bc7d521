package audiofile

import (
	"encoding/binary"
	"math"

	"ledgerline/stages/kernel"
)

// A decoder turns len(dst[0]) interleaved frames of src into planar samples.
// Every channel of dst has that length, and src holds exactly those frames.
type decoder func(dst [][]float64, src []byte)

func decode8(dst [][]float64, src []byte) {
	step := len(dst)
	for c, x := range dst {
		o := c
		for i := range x {
			x[i] = float64(int(src[o])-128) * 0x1p-7
			o += step
		}
	}
}

func decode16(dst [][]float64, src []byte) {
	step := 2 * len(dst)
	for c, x := range dst {
		o := 2 * c
		for i := range x {
			x[i] = float64(int16(binary.LittleEndian.Uint16(src[o:]))) * 0x1p-15
			o += step
		}
	}
}

func decode24(dst [][]float64, src []byte) {
	if len(dst) == 2 {
		kernel.Decode24(dst[0], dst[1], src)
		return
	}
	step := 3 * len(dst)
	for c, x := range dst {
		o := 3 * c
		for i := range x {
			s := src[o : o+3 : o+3]
			x[i] = float64(int32(s[0])<<8|int32(s[1])<<16|int32(s[2])<<24) * 0x1p-31
			o += step
		}
	}
}

func decode32(dst [][]float64, src []byte) {
	step := 4 * len(dst)
	for c, x := range dst {
		o := 4 * c
		for i := range x {
			x[i] = float64(int32(binary.LittleEndian.Uint32(src[o:]))) * 0x1p-31
			o += step
		}
	}
}

func decodeFloat32(dst [][]float64, src []byte) {
	step := 4 * len(dst)
	for c, x := range dst {
		o := 4 * c
		for i := range x {
			x[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(src[o:])))
			o += step
		}
	}
}

func decodeFloat64(dst [][]float64, src []byte) {
	step := 8 * len(dst)
	for c, x := range dst {
		o := 8 * c
		for i := range x {
			x[i] = math.Float64frombits(binary.LittleEndian.Uint64(src[o:]))
			o += step
		}
	}
}
