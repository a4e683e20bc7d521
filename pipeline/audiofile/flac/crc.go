package flac

// The checks of a frame's header, x^8 + x^2 + x + 1, and of the whole frame, x^16 + x^15 + x^2 + 1, both
// from zero and the highest bit first: RFC 9639, 9.1.8 and 9.3.
var (
	table8 = func() (t [256]uint8) {
		for i := range t {
			c := uint8(i)
			for range 8 {
				c = c<<1 ^ c>>7*0x07
			}
			t[i] = c
		}
		return t
	}()
	table16 = func() (t [256]uint16) {
		for i := range t {
			c := uint16(i) << 8
			for range 8 {
				c = c<<1 ^ c>>15*0x8005
			}
			t[i] = c
		}
		return t
	}()
)

func crc8(p []byte) (c uint8) {
	for _, b := range p {
		c = table8[c^b]
	}
	return c
}

func crc16(p []byte) (c uint16) {
	for _, b := range p {
		c = c<<8 ^ table16[byte(c>>8)^b]
	}
	return c
}
