// Package meter reads a signal: sample and true peak, loudness and its range,
// RMS, DC and overs. A meter eats blocks of any length and can be read at any
// time without disturbing it; block lengths change no figure, not by one bit.
//
// A signal is worked through in stretches of 1024 frames, counted from its
// first, and every sum is made within a stretch before it joins the others.
// Loudness is found in segments of 10 ms (segment k begins at frame 10 ms times
// k, rounded), which are also the steps in which its windows move.
//
// Loudness is ITU-R BS.1770-5: each channel goes through the K-weighting (a
// high shelf for the head and a high-pass), and
//
//	L = -0.691 + 10 log10 (sum over channels of weight * mean square)
//
// over 400 ms is the momentary loudness and over 3 s the short-term loudness
// (EBU Tech 3341). Their maxima are sought every 10 ms, because a burst of
// 400 ms is otherwise cut off by up to half a step. Integrated loudness is the
// mean over 400 ms blocks, one every 100 ms, that are above -70 LUFS and above
// the mean of those less 10 LU. Loudness range (EBU Tech 3342) is the distance
// between the 10 % and 95 % places of the short-term loudness, one every
// 100 ms, at or above -70 LUFS and the mean of those less 20 LU. Windows that
// the signal does not fill do not count, nor is silence added at its end: on a
// track of a few seconds that would read a fade that is not there.
//
// The true peak is the largest magnitude of the signal interpolated 16 times,
// with a parabola through the three points at each of its maxima. It is
// within 0.002 dB for content up to 21/44.1 of the rate, and for what lies
// beyond up to half the rate it is as near as 360 samples can tell; a signal is
// zero before its first frame and after its last. Interpolation is the dearest
// part, so it is done only where it could change the reading; see truePeak.
package meter
