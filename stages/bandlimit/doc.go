// Package bandlimit has the filters behind the clipping stages: interpolation
// between samples, the way back to the track's rate, and what a corner of a
// signal that was cut off owes to the band limit.
//
// All filters are linear phase and normalised to the track's rate, so that
// their edges scale with it: the pass band ends at 20/44.1 of the rate (20 kHz
// at 44.1 kHz) and the stop band begins at 24.1/44.1, where the images of the
// pass band begin. Between the two edges a filter falls by 6 dB at half the rate.
//
// Times within the package are measured in samples of the rate at hand. A
// signal that is interpolated L times is kept as L phases: phase p holds the
// values at n + p/L for each frame n, and phase 0 is the signal itself.
package bandlimit
