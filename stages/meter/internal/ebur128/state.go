//go:build reference

package ebur128

// #cgo pkg-config: libebur128
// #include <ebur128.h>
import "C"

import (
	"fmt"
	"unsafe"
)

// State is a libebur128 meter of everything the library measures. It is to be
// closed.
type State struct {
	state    *C.ebur128_state
	channels int
}

// Open makes a meter. Channels have the library's default places: L R C Ls Rs
// for five, L R C, one that does not count, Ls Rs for six.
func Open(channels, rate int) (*State, error) {
	const modes = C.EBUR128_MODE_I | C.EBUR128_MODE_LRA | C.EBUR128_MODE_M | C.EBUR128_MODE_S |
		C.EBUR128_MODE_SAMPLE_PEAK | C.EBUR128_MODE_TRUE_PEAK
	s := C.ebur128_init(C.uint(channels), C.ulong(rate), modes)
	if s == nil {
		return nil, fmt.Errorf("libebur128 refuses %d channels at %d Hz", channels, rate)
	}
	return &State{s, channels}, nil
}

// Close frees the meter.
func (s *State) Close() { C.ebur128_destroy(&s.state) }

// Add feeds interleaved samples.
func (s *State) Add(interleaved []float64) error {
	if len(interleaved) == 0 {
		return nil
	}
	frames := C.size_t(len(interleaved) / s.channels)
	return result(C.ebur128_add_frames_double(s.state, (*C.double)(unsafe.Pointer(&interleaved[0])), frames))
}

// Integrated is the loudness of everything so far, LUFS.
func (s *State) Integrated() (lufs float64, err error) {
	err = result(C.ebur128_loudness_global(s.state, (*C.double)(unsafe.Pointer(&lufs))))
	return lufs, err
}

// Range is the loudness range of everything so far, LU. The library takes a
// short-term window every second.
func (s *State) Range() (lu float64, err error) {
	err = result(C.ebur128_loudness_range(s.state, (*C.double)(unsafe.Pointer(&lu))))
	return lu, err
}

// Momentary is the loudness of the last 400 ms, LUFS.
func (s *State) Momentary() (lufs float64, err error) {
	err = result(C.ebur128_loudness_momentary(s.state, (*C.double)(unsafe.Pointer(&lufs))))
	return lufs, err
}

// ShortTerm is the loudness of the last 3 s, LUFS.
func (s *State) ShortTerm() (lufs float64, err error) {
	err = result(C.ebur128_loudness_shortterm(s.state, (*C.double)(unsafe.Pointer(&lufs))))
	return lufs, err
}

// SamplePeak is the largest magnitude of a channel.
func (s *State) SamplePeak(channel int) (peak float64, err error) {
	err = result(C.ebur128_sample_peak(s.state, C.uint(channel), (*C.double)(unsafe.Pointer(&peak))))
	return peak, err
}

// TruePeak is the largest magnitude of a channel and of what the library interpolates in it.
func (s *State) TruePeak(channel int) (peak float64, err error) {
	err = result(C.ebur128_true_peak(s.state, C.uint(channel), (*C.double)(unsafe.Pointer(&peak))))
	return peak, err
}

// LatestTruePeak is TruePeak of what the last call of Add brought, alone.
func (s *State) LatestTruePeak(channel int) (peak float64, err error) {
	err = result(C.ebur128_prev_true_peak(s.state, C.uint(channel), (*C.double)(unsafe.Pointer(&peak))))
	return peak, err
}

func result(code C.int) error {
	if code != C.EBUR128_SUCCESS {
		return fmt.Errorf("libebur128: error %d", int(code))
	}
	return nil
}
