// Package ear reads how far above or below the masking threshold of a signal lies what was done to it, after
// the FFT ear model of ITU-R BS.1387-1 (11/2001), basic version. It is a model of what is masked at one
// playback level, no listening test, and this is no measuring system in the sense of that Recommendation.
// Numbers in brackets are its equations; "Kabal" is P. Kabal, "An Examination and Interpretation of ITU-R
// BS.1387", McGill University, 2003.
//
// A signal is heard in windows, each half over the one before. The power of a window's spectrum, weighted for
// the outer and middle ear, is summed in bands of 0.25 Bark, spread to the bands around, and smeared over
// time. The mask lies 3 dB or more below that. The noise of a window is, bin by bin, the difference of the
// magnitudes before and after.
//
// Here a frame is a sample of every channel, as everywhere in this project; what the Recommendation calls a
// frame is a window. Figures have the same bits on every processor and for every length of block.
package ear
