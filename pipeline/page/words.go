package page

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// value is a figure that may not exist as a number: NaN is none.
func value(x *float64) float64 {
	if x == nil {
		return math.NaN()
	}
	return *x
}

// fixed is a figure with so many decimals and a true minus sign; "none" where it does not exist.
func fixed(x float64, decimals int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "none"
	}
	t := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(t, "-0.") == "" {
		t = strings.TrimPrefix(t, "-")
	}
	return strings.Replace(t, "-", "−", 1)
}

// figure is fixed of a figure of the ledger.
func figure(x *float64, decimals int) string { return fixed(value(x), decimals) }

// signed is fixed with a plus sign before what is above zero.
func signed(x float64, decimals int) string {
	t := fixed(x, decimals)
	if x > 0 && strings.Trim(t, "0.") != "" {
		return "+" + t
	}
	return t
}

// clock is a time as "1:02.3", with so many decimals.
func clock(seconds float64, decimals int) string {
	unit := 1.0
	for range decimals {
		unit *= 10
	}
	n := int64(math.Round(max(0, seconds) * unit))
	minute := int64(60 * unit)
	rest := float64(n%minute) / unit
	if decimals == 0 {
		return fmt.Sprintf("%d:%02d", n/minute, n%minute)
	}
	return fmt.Sprintf("%d:%0*.*f", n/minute, 3+decimals, decimals, rest)
}

// many is a number of things: "1 track", "2 tracks".
func many[N int | int64](n N, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// share is a part of all, in percent with two digits that say something.
func share(x float64) string {
	switch {
	case x == 0:
		return "none"
	case x >= 0.0995:
		return fixed(100*x, 0) + " %"
	case x >= 0.001:
		return fixed(100*x, 1) + " %"
	case x >= 0.00001:
		return fixed(100*x, 3) + " %"
	}
	return "less than 0.001 %"
}

// hertz is a frequency: "630 Hz", "2.1 kHz".
func hertz(hz int) string {
	if hz < 1000 {
		return fmt.Sprintf("%d Hz", hz)
	}
	return fmt.Sprintf("%.3g kHz", float64(hz)/1000)
}

// short is a text of at most n characters.
func short(t string, n int) string {
	if r := []rune(t); len(r) > n && n > 1 {
		return string(r[:n-1]) + "…"
	}
	return t
}

// apart is how many decimals it takes, from two on, to tell what was found from what was wanted.
func apart(found, wanted float64) int {
	for d := 2; d < 4; d++ {
		if fixed(found, d) != fixed(wanted, d) {
			return d
		}
	}
	return 4
}

// channel is the name of a channel, from 1, of so many.
func channel(c, of int) string {
	switch {
	case of == 2 && c == 1:
		return "left"
	case of == 2 && c == 2:
		return "right"
	}
	return fmt.Sprintf("channel %d", c)
}
