//go:build amd64 && !noasm

package kernel

// withFeatures runs f on what the processor is said to have.
func withFeatures(avx512, avx2 bool, f func() any) any {
	old512, old2 := useAVX512, useAVX2
	defer func() { useAVX512, useAVX2 = old512, old2 }()
	useAVX512, useAVX2 = avx512, avx2
	return f()
}

// variants is what f returns with each kind of assembly that the processor has.
func variants(f func() any) map[string]any {
	m := map[string]any{}
	if useAVX2 {
		m["AVX2"] = withFeatures(false, true, f)
	}
	if useAVX512 {
		m["AVX512"] = withFeatures(true, true, f)
	}
	return m
}

// inEachForm runs f with each kind of code there is, and says which.
func inEachForm(f func(form string)) {
	with := func(form string, avx512, avx2 bool) {
		withFeatures(avx512, avx2, func() any { f(form); return nil })
	}
	if useAVX512 {
		with("AVX512", true, true)
	}
	if useAVX2 {
		with("AVX2", false, true)
	}
	with("Generic", false, false)
}
