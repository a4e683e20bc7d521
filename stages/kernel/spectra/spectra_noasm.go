//go:build !amd64 || noasm

package spectra

func first(toRe, toIm, fromRe, fromIm []float64, w Turns) {
	firstGeneric(toRe, toIm, fromRe, fromIm, w)
}

func strided(toRe, toIm, fromRe, fromIm []float64, w Turns, stride int) {
	stridedGeneric(toRe, toIm, fromRe, fromIm, w, stride)
}

// None of the functions below has made any value.

func unfold(_, _, _, _, _, _ []float64, _ int) int { return 0 }

func part(_, _, _ []float64) int { return 0 }

func partTapered(_, _, _, _ []float64) int { return 0 }

func squares(_, _, _ []float64) int { return 0 }

func roots(_, _, _ []float64) int { return 0 }

func raise(_, _ []float64) int { return 0 }

func exp(_, _ []float64) int { return 0 }

func log(_, _ []float64) int { return 0 }

func rise(r, u []float64, lanes *[16]float64) { riseGeneric(r, u, lanes) }

func sums(y, x, w []float64, parts []Part4) { sumsGeneric(y, x, w, parts) }

func differ(x, y []float64) bool { return differGeneric(x, y) }
