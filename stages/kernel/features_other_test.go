//go:build !amd64 || noasm

package kernel

func withFeatures(_, _ bool, f func() any) any { return f() }

func variants(f func() any) map[string]any { return map[string]any{"Generic": f()} }

// inEachForm runs f with the only kind of code there is.
func inEachForm(f func(form string)) { f("Generic") }
