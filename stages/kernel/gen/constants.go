package main

import (
	"fmt"
	"math"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// scalars are the constants in memory so far.
var scalars = map[float64]operand.Mem{}

// scalar is a constant in memory.
func scalar(c float64) operand.Mem {
	if _, ok := scalars[c]; !ok {
		scalars[c] = ConstData(fmt.Sprint("scalar", len(scalars)), operand.U64(math.Float64bits(c)))
	}
	return scalars[c]
}

// everywhere is a constant in all lanes.
func everywhere(c float64) reg.VecVirtual {
	r := YMM()
	VBROADCASTSD(scalar(c), r)
	return r
}

const signBit = 1 << 63

// words are the words in memory so far.
var words = map[uint64]operand.Mem{}

// everyBit is a word in all lanes.
func everyBit(word uint64) reg.VecVirtual {
	if _, ok := words[word]; !ok {
		words[word] = ConstData(fmt.Sprint("word", len(words)), operand.U64(word))
	}
	r := YMM()
	VBROADCASTSD(words[word], r)
	return r
}
