//go:build amd64 && !noasm

package spectra

// inEachForm runs f with each kind of code that there is, first the one in Go, and says which.
func inEachForm(f func(form string)) {
	old := useAVX2
	defer func() { useAVX2 = old }()
	useAVX2 = false
	f("Go")
	if useAVX2 = old; useAVX2 {
		f("AVX2")
	}
}
