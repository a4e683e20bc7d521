//go:build amd64 && !noasm

package spectra

import "golang.org/x/sys/cpu"

// What the processor has. Tests change it.
var useAVX2 = cpu.X86.HasAVX2 && cpu.X86.HasFMA

func first(toRe, toIm, fromRe, fromIm []float64, w Turns) {
	if !useAVX2 {
		firstGeneric(toRe, toIm, fromRe, fromIm, w)
		return
	}
	firstAVX2(&toRe[0], &toIm[0], &fromRe[0], &fromIm[0], &w[0], w.Len())
}

func strided(toRe, toIm, fromRe, fromIm []float64, w Turns, stride int) {
	if !useAVX2 {
		stridedGeneric(toRe, toIm, fromRe, fromIm, w, stride)
		return
	}
	stridedAVX2(&toRe[0], &toIm[0], &fromRe[0], &fromIm[0], &w[0], w.Len(), stride)
}

// unfold and the functions below it return how many values they have made.
func unfold(re, im, zRe, zIm, wRe, wIm []float64, n int) int {
	if !useAVX2 {
		return 0
	}
	unfoldAVX2(&re[1], &im[1], &zRe[1], &zIm[1], &wRe[1], &wIm[1], n, len(zRe)-2)
	return n
}

func part(even, odd, x []float64) int {
	n := vectors(even)
	if n > 0 {
		partAVX2(&even[0], &odd[0], &x[0], n)
	}
	return n
}

func partTapered(even, odd, x, taper []float64) int {
	n := vectors(even)
	if n > 0 {
		partTaperedAVX2(&even[0], &odd[0], &x[0], &taper[0], n)
	}
	return n
}

func squares(y, a, b []float64) int {
	n := vectors(y)
	if n > 0 {
		squaresAVX2(&y[0], &a[0], &b[0], n)
	}
	return n
}

func roots(y, a, b []float64) int {
	n := vectors(y)
	if n > 0 {
		rootsAVX2(&y[0], &a[0], &b[0], n)
	}
	return n
}

func raise(y, x []float64) int {
	n := vectors(y)
	if n > 0 {
		raiseAVX2(&y[0], &x[0], n)
	}
	return n
}

func exp(y, x []float64) int {
	n := vectors(y)
	if n > 0 {
		expAVX2(&y[0], &x[0], n)
	}
	return n
}

func log(y, x []float64) int {
	n := vectors(y)
	if n > 0 {
		logAVX2(&y[0], &x[0], n)
	}
	return n
}

func rise(r, u []float64, lanes *[16]float64) {
	if !useAVX2 {
		riseGeneric(r, u, lanes)
		return
	}
	riseAVX2(&r[0], &u[0], len(r), lanes)
}

func sums(y, x, w []float64, parts []Part4) {
	if !useAVX2 {
		sumsGeneric(y, x, w, parts)
		return
	}
	sumsAVX2(&y[0], &x[0], &w[0], &parts[0].From, len(y))
}

func differ(x, y []float64) bool {
	if !useAVX2 {
		return differGeneric(x, y)
	}
	return differAVX2(&x[0], &y[0], len(x)) != 0
}

// vectors is how many of the values are in whole vectors that there is assembly for.
func vectors(y []float64) int {
	if !useAVX2 {
		return 0
	}
	return len(y) &^ 3
}
