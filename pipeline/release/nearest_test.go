package release

import "testing"

func TestNearest(t *testing.T) {
	keys := []string{
		"kind", "name", "gain_db", "ceiling_dbfs", "factor", "sample_peak_max_dbfs", "true_peak_max_dbtp",
	}
	for written, want := range map[string]string{
		"gian_db":      "gain_db", // two letters swapped
		"gain":         "gain_db", // its beginning
		"gaindb":       "gain_db",
		"Gain_DB":      "gain_db",
		"cieling_dbfs": "ceiling_dbfs",
		"ceiling":      "ceiling_dbfs",
		"ceiling_dbtp": "ceiling_dbfs",
		"facter":       "factor",
		"true_peak":    "true_peak_max_dbtp",
		"nme":          "name",
		"names":        "name",
		"reverb":       "",
		"q":            "",
		"":             "",
		"na":           "", // too little to be a beginning
	} {
		got, ok := Nearest(written, keys)
		if got != want || ok != (want != "") {
			t.Errorf("nearest to %q is %q, %v; want %q", written, got, ok, want)
		}
	}
}

// The distances are counted by hand from the definition: insert, delete,
// replace, swap neighbours, each letter edited once at most.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"abc", "", 3}, {"abc", "abc", 0}, {"abc", "acb", 1}, {"abc", "abd", 1},
		{"abc", "abcd", 1}, {"ca", "abc", 3}, {"clip", "hard_clip", 5}, {"é", "e", 1},
	} {
		if got := distance([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("distance of %q and %q is %d, want %d", c.a, c.b, got, c.want)
		}
	}
}
