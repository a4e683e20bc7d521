//go:build amd64 && !noasm

package spectra

import "golang.org/x/sys/cpu"

// What the processor has. Tests change it.
var useAVX2 = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// unfold returns how many values it has made.
func unfold(re, im, zRe, zIm, wRe, wIm []float64, n int) int {
	if !useAVX2 {
		return 0
	}
	unfoldAVX2(&re[1], &im[1], &zRe[1], &zIm[1], &wRe[1], &wIm[1], n, len(zRe)-2)
	return n
}

// fold returns how many values it has made.
func fold(zRe, zIm, re, im, wRe, wIm []float64, n int) int {
	if !useAVX2 {
		return 0
	}
	foldAVX2(&zRe[1], &zIm[1], &re[1], &im[1], &wRe[1], &wIm[1], n, len(zRe)-2)
	return n
}
