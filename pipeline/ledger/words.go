package ledger

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// none is printed for a figure that does not exist.
const none = "--"

// fixed is a figure to two decimals, as the tables show it.
func fixed(x float64) string {
	if math.Abs(x) >= 1e6 { // no real level is as large, and it would not fit into the table
		return strconv.FormatFloat(x, 'g', 1, 64)
	}
	return strconv.FormatFloat(round(x, 100), 'f', 2, 64)
}

// figure is a figure that may not exist.
func figure(x *float64) string {
	if x == nil {
		return none
	}
	return fixed(*x)
}

// signed is a difference with its sign; zero has none.
func signed(x *float64) string {
	if s := figure(x); x == nil || sign(x) <= 0 {
		return s
	}
	return "+" + fixed(*x)
}

// sign is -1, 0 or +1 as the printed figure is below, at or above zero; 0 if there is no
// figure.
func sign(x *float64) int {
	switch {
	case x == nil:
		return 0
	case round(*x, 100) < 0:
		return -1
	case round(*x, 100) > 0:
		return 1
	}
	return 0
}

// exact is a figure with the four decimals that the ledger keeps and that requirements are
// judged by, so that a narrow miss shows.
func exact(x float64) string { return strconv.FormatFloat(x, 'f', 4, 64) }

// count is a number of samples, short enough for a table.
func count(n int64) string {
	if n < 1e7 && n > -1e7 {
		return strconv.FormatInt(n, 10)
	}
	return strconv.FormatFloat(float64(n), 'g', 3, 64)
}

// many is a number of things in words: "1 sample", "2 samples".
func many[N int | int64](n N, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// clock is a duration as minutes and seconds.
func clock(seconds float64) string {
	if !(math.Abs(seconds) < 1e9) {
		return strconv.FormatFloat(seconds, 'g', 3, 64) + " s"
	}
	tenths := int64(math.Round(seconds * 10))
	return fmt.Sprintf("%d:%02d.%d", tenths/600, max(tenths, -tenths)/10%60, max(tenths, -tenths)%10)
}

// wish is a requirement's key in words: what, most or least, unit.
type wish struct{ what, bound, unit string }

var wishes = map[string]wish{
	"sample_peak_max_dbfs":      {"sample peak", "at most", "dBFS"},
	"true_peak_max_dbtp":        {"true peak", "at most", "dBTP"},
	"true_peak_bs1770_max_dbtp": {"true peak by bs1770", "at most", "dBTP"},
	"true_peak_sinc49_max_dbtp": {"true peak by sinc49", "at most", "dBTP"},
	"loudness_min_lufs":         {"loudness", "at least", "LUFS"},
	"loudness_max_lufs":         {"loudness", "at most", "LUFS"},
	"loudness_range_max_lu":     {"loudness range", "at most", "LU"},
	"overs_max":                 {"overs", "at most", ""},
	"removed_max_db":            {"removed", "at most", "dB"},
	"clipped_max_percent":       {"clipped", "at most", "%"},
	"noise_to_mask_max_db":      {"noise to mask", "at most", "dB"},
	"disturbed_max_percent":     {"disturbed", "at most", "%"},
}

// String gives what was found and the requirement's limit, in the digits that it is judged
// by: "true peak -0.9997 dBTP, limit -1.0000".
func (r Requirement) String() string {
	w, ok := wishes[r.Key]
	if !ok {
		w = wish{clean(r.Key), "at most", ""}
	}
	show := exact
	if r.Key == "overs_max" {
		show = func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	}
	found, limit := "none", "limit"
	if r.Found != nil {
		found = strings.TrimSpace(show(*r.Found) + " " + w.unit)
	}
	if w.bound == "at least" {
		limit = "least allowed"
	}
	return fmt.Sprintf("%s %s, %s %s", w.what, found, limit, show(r.Wanted))
}

// RequirementWords is what a requirement's key asks for, in words, and its unit, which is empty for a count.
func RequirementWords(key string) (what, unit string) {
	w, ok := wishes[key]
	if !ok {
		return clean(key), ""
	}
	return w.what, w.unit
}
