// Package long says whether tests run at their full length. Plain go test keeps every kind
// of case and takes a minute or so of processor time; with LEDGERLINE_LONG=1 in the
// environment, as .ci/run sets it, the same tests run over all signals, seeds and settings.
package long

import (
	"flag"
	"fmt"
	"os"
	"testing"
)

// Wanted reports whether LEDGERLINE_LONG is set to anything but nothing and 0. It looks
// each time, within a test, so that the Go command sees what a cached result depends on.
func Wanted() bool {
	v := os.Getenv("LEDGERLINE_LONG")
	return v != "" && v != "0"
}

// Or is quick, or full if the long cases are wanted.
func Or[T any](quick, full T) T {
	if Wanted() {
		return full
	}
	return quick
}

// Checks lets pgregory.net/rapid run n instead of its hundred cases in a quick run of t, unless
// the command line says how many (-rapid.checks).
func Checks(t *testing.T, n int) {
	checks := flag.Lookup("rapid.checks")
	if usual := checks.DefValue; !Wanted() && checks.Value.String() == usual {
		_ = checks.Value.Set(fmt.Sprint(n))
		t.Cleanup(func() { _ = checks.Value.Set(usual) })
	}
}

// Only skips t in a quick run, with what it does that takes long, or what else tests the same.
func Only(t testing.TB, why string) {
	t.Helper()
	if !Wanted() {
		t.Skip("only with LEDGERLINE_LONG=1: " + why)
	}
}
