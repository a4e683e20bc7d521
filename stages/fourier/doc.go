// Package fourier has the discrete Fourier transform of complex signals of a power of two in length, with the
// same bits on every processor. Real and imaginary parts are slices of their own.
//
//	X[k] = sum over n of x[n] exp(-2 pi i k n / N),   k = 0..N-1
//
// The method is Stockham's (W. T. Cochran et al., "What is the Fast Fourier Transform?", Proc. IEEE 55(10),
// 1967; from memory), four parts at a time: it needs no reordering, and each step reads and writes its values
// in order.
package fourier
