//go:build !amd64 || noasm

package spectra

func unfold(_, _, _, _, _, _ []float64, _ int) int { return 0 }

func fold(_, _, _, _, _, _ []float64, _ int) int { return 0 }
