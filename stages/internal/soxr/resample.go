//go:build reference

package soxr

// #cgo pkg-config: soxr
// #include <soxr.h>
import "C"

import (
	"fmt"
	"unsafe"
)

// Resample is x at up/down times its rate, as many frames as x has times that. The recipe is
// the library's finest, of 32 bits, in double precision and linear phase, told not to
// round its clock and not to roll off in the pass band, where it otherwise loses up to 0.01 dB if the ratio
// is no power of two. The library lets its delay pass, so that frame 0 stays frame 0.
func Resample(x []float64, up, down int) ([]float64, error) {
	if len(x) == 0 {
		return nil, nil
	}
	y := make([]float64, len(x)*up/down)
	io := C.soxr_io_spec(C.SOXR_FLOAT64_I, C.SOXR_FLOAT64_I)
	quality := C.soxr_quality_spec(C.SOXR_32_BITQ, C.SOXR_ROLLOFF_NONE|C.SOXR_HI_PREC_CLOCK)
	var read, done C.size_t
	e := C.soxr_oneshot(C.double(down), C.double(up), 1,
		C.soxr_in_t(unsafe.Pointer(&x[0])), C.size_t(len(x)), &read,
		C.soxr_out_t(unsafe.Pointer(&y[0])), C.size_t(len(y)), &done,
		&io, &quality, nil)
	if e != nil {
		return nil, fmt.Errorf("libsoxr: %s", C.GoString(e))
	}
	if int(read) != len(x) || int(done) != len(y) {
		return nil, fmt.Errorf("libsoxr read %d of %d frames and made %d of %d", read, len(x), done, len(y))
	}
	return y, nil
}
