package flac

import (
	"errors"
	"fmt"
)

// subframe reads a channel of a block into x: RFC 9639, 9.2.
func (d *Decoder) subframe(x []int64, bits int) error {
	r := &d.r
	code := int(r.read(7))
	wasted := 0
	if r.read(1) == 1 {
		wasted = int(r.unary()) + 1
	}
	if wasted >= bits {
		return fmt.Errorf("%d wasted bits of %d", wasted, bits)
	}
	bits -= wasted
	order := 0
	switch {
	case code == 0:
		v := r.signed(uint(bits))
		for i := range x {
			x[i] = v
		}
	case code == 1:
		for i := range x {
			x[i] = r.signed(uint(bits))
		}
	case code >= 8 && code <= 8+fixedOrders:
		order = code - 8
	case code >= 32 && code < 64:
		order = code - 31
	default:
		return fmt.Errorf("a prediction of the reserved kind %d", code)
	}
	if code >= 8 {
		if order > len(x) {
			return fmt.Errorf("a prediction of order %d in a block of %d frames", order, len(x))
		}
		for i := range order {
			x[i] = r.signed(uint(bits))
		}
		if err := d.predicted(x, order, code >= 32); err != nil {
			return err
		}
	}
	if wasted > 0 {
		for i := range x {
			x[i] <<= wasted
		}
	}
	return nil
}

// predicted reads the residual of x after its first order samples, and makes the samples of it.
func (d *Decoder) predicted(x []int64, order int, linear bool) error {
	r := &d.r
	if !linear {
		if err := d.residual(x, order); err != nil {
			return err
		}
		for i := order; i < len(x); i++ {
			x[i] += predictFixed(x[i-order : i])
		}
		return nil
	}
	precision := uint(r.read(4)) + 1
	shift := r.signed(5)
	if precision == 16 || shift < 0 {
		return errors.New("a prediction with a reserved precision or shift")
	}
	var by [maxOrder]int64
	for j := range order {
		by[j] = r.signed(precision)
	}
	if err := d.residual(x, order); err != nil {
		return err
	}
	for i := order; i < len(x); i++ {
		sum, before := int64(0), x[i-order:i]
		for j, c := range by[:order] {
			sum += c * before[order-1-j]
		}
		x[i] += sum >> shift
		// What no encoder makes must not grow without bounds.
		if x[i] != int64(int32(x[i]>>1))<<1|x[i]&1 {
			return errors.New("a sample has more than 33 bits")
		}
	}
	return nil
}

// residual reads a residual into x from its sample order on: RFC 9639, 9.2.7.
func (d *Decoder) residual(x []int64, order int) error {
	r := &d.r
	width := uint(r.read(2)) + 4
	if width > 5 {
		return errors.New("a residual in a reserved code")
	}
	parts := uint(r.read(4))
	if n := len(x) >> parts; n<<parts != len(x) || n < order {
		return fmt.Errorf("%d partitions of a block of %d frames, predicted with %d", 1<<parts, len(x), order)
	}
	at := order
	for k := range 1 << parts {
		param := uint(r.read(width))
		end := len(x) >> parts * (k + 1)
		if param == 1<<width-1 {
			bits := uint(r.read(5))
			for ; at < end; at++ {
				x[at] = r.signed(bits)
			}
			continue
		}
		for ; at < end; at++ {
			above := r.unary()
			u := uint32(above)<<param | uint32(r.read(param))
			x[at] = int64(int32(u>>1) ^ -int32(u&1))
		}
		if r.over() {
			return errShort
		}
	}
	return nil
}
