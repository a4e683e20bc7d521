// Package bandlimit has the filters of the clipping stages: interpolation
// between samples, the way back to the track's rate, and what a corner of a
// signal that was cut off owes to the band limit.
//
// All filters are linear phase and normalised to the track's rate, so that
// their edges scale with it. In terms of a rate of 44.1 kHz: on the way up 21 kHz
// pass, or 20 kHz where something is to be clipped, half the rate is down by 6 dB, as it must be where a
// rate is doubled, and the images from as far beyond it are rejected; on the way back 20 kHz
// pass, and what is beyond 21.8 kHz is rejected.
//
// Times within the package are measured in samples of the rate at hand. A
// signal that is interpolated L times is kept as L phases: phase p holds the
// values at n + p/L for each frame n, and phase 0 is the signal itself.
package bandlimit
