package main

import (
	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// vectors is one width of registers.
type vectors struct {
	name  string // suffix of the functions
	lanes int    // float64s in a register
	reg   func() reg.VecVirtual
}

var (
	avx512 = vectors{"AVX512", 8, ZMM}
	avx2   = vectors{"AVX2", 4, YMM}
)

// zeros is n registers of zeros.
func (v vectors) zeros(n int) []reg.VecVirtual {
	r := make([]reg.VecVirtual, n)
	for i := range r {
		r[i] = v.reg()
		VXORPD(r[i], r[i], r[i])
	}
	return r
}

// at is the i-th vector after a pointer, index elements further.
func (v vectors) at(base, index reg.Register, i int) operand.Mem {
	m := operand.Mem{Base: base, Disp: 8 * v.lanes * i}
	if index != nil {
		m.Index, m.Scale = index, 8
	}
	return m
}

// abs is x without its sign, and the sign alone.
func (v vectors) abs(x reg.VecVirtual, mask reg.VecVirtual) (size, sign reg.VecVirtual) {
	size, sign = v.reg(), v.reg()
	if v.lanes == 8 {
		VPANDQ(mask, x, size)
		VPANDNQ(x, mask, sign)
	} else {
		VANDPD(mask, x, size)
		VANDNPD(x, mask, sign)
	}
	return size, sign
}

// flip is x with its sign flipped where sign is set.
func (v vectors) flip(x, sign reg.VecVirtual) reg.VecVirtual {
	y := v.reg()
	if v.lanes == 8 {
		VPXORQ(sign, x, y)
	} else {
		VXORPD(sign, x, y)
	}
	return y
}

// magnitude is a register with all bits but the signs.
func (v vectors) magnitude() reg.VecVirtual {
	mask, bits, low := v.reg(), GP64(), XMM()
	MOVQ(operand.U64(1<<63-1), bits)
	VMOVQ(bits, low)
	VBROADCASTSD(low, mask)
	return mask
}

// broadcast is a register of a float64 parameter.
func (v vectors) broadcast(param string) reg.VecVirtual {
	r := v.reg()
	p, _ := Param(param).Resolve()
	VBROADCASTSD(p.Addr, r)
	return r
}

// Predicates of VCMPPD. All but the last are false where one is not a number.
const (
	less         = 1  // <
	lessEqual    = 2  // <=
	notEqual     = 12 // !=
	notLessEqual = 6  // not <=
)

// compare is a lane mask of a PRED b, in a register of its own kind.
func (v vectors) compare(pred uint8, a, b operand.Op) reg.Register {
	if v.lanes == 8 {
		k := K()
		VCMPPD(operand.U8(pred), b, a, k)
		return k
	}
	m := v.reg()
	VCMPPD(operand.U8(pred), b, a, m)
	return m
}

// compareAlso is compare where a lane mask is set, else false.
func (v vectors) compareAlso(mask reg.Register, pred uint8, a, b operand.Op) reg.Register {
	if v.lanes == 8 {
		k := K()
		VCMPPD(operand.U8(pred), b, a, mask, k)
		return k
	}
	return v.and(mask, v.compare(pred, a, b))
}

// and is a AND b of two lane masks, or the other binary operations below.
func (v vectors) and(a, b reg.Register) reg.Register {
	if v.lanes == 8 {
		k := K()
		KANDB(a, b, k)
		return k
	}
	m := v.reg()
	VANDPD(a, b, m)
	return m
}

func (v vectors) or(a, b reg.Register) reg.Register {
	if v.lanes == 8 {
		k := K()
		KORB(a, b, k)
		return k
	}
	m := v.reg()
	VORPD(a, b, m)
	return m
}

// differ is a XOR b.
func (v vectors) differ(a, b reg.Register) reg.Register {
	if v.lanes == 8 {
		k := K()
		KXORB(a, b, k)
		return k
	}
	m := v.reg()
	VXORPD(a, b, m)
	return m
}

// bits is a lane mask as the low bits of a general register.
func (v vectors) bits(m reg.Register) reg.GPVirtual {
	r := GP32()
	v.setBits(m, r)
	return r
}

// setBits is bits, to a register there is.
func (v vectors) setBits(m reg.Register, r reg.GPVirtual) {
	if v.lanes == 8 {
		KMOVB(m, r)
	} else {
		VMOVMSKPD(m, r)
	}
}

// loop runs body n times, n > 0.
func loop(label string, n reg.GPVirtual, body func()) {
	Label(label)
	body()
	DECQ(n)
	JNZ(operand.LabelRef(label))
}
