//go:build !amd64 || noasm

package spectra

// inEachForm runs f with the only kind of code that there is.
func inEachForm(f func(form string)) { f("Go") }
