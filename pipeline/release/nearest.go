package release

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Nearest is the known word closest to what was written, if one is close
// enough to have been meant: within a third of its letters, or one of the two
// the beginning of the other. Capitals do not count.
func Nearest(written string, known []string) (string, bool) {
	w := []rune(strings.ToLower(written))
	best, found := "", false
	most := (len(w) + 1) / 3
	for _, k := range known {
		r := []rune(strings.ToLower(k))
		d := max(len(w)-len(r), len(r)-len(w)) // at least
		if d <= most {
			d = distance(w, r) // which takes long where both are
		}
		if d > most && !isBeginning(w, r) {
			continue
		}
		// A mere beginning only counts until something closer turns up.
		if d = min(d, (len(w)+1)/3); !found || d < most {
			best, found, most = k, true, d
		}
	}
	return best, found
}

// isBeginning reports whether one word begins with the other, of which there
// must be enough to mean something.
func isBeginning(a, b []rune) bool {
	n := min(len(a), len(b))
	return n >= 3 && slices.Equal(a[:n], b[:n])
}

// distance counts the letters to insert, delete, replace or swap with their
// neighbour to get from a to b (the optimal string alignment distance).
func distance(a, b []rune) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(row[j-1]+1, last[j]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}

// marksApart is the known word that is what was written, but for accents that are signs of their own in one
// of the two. Some systems name files so, and on a screen both look alike. Unicode calls such a text
// decomposed (UAX #15). There are no tables of letters here: any one outside ASCII may be a composed one.
func marksApart(written string, known []string) (string, bool) {
	for _, k := range known {
		if k != written && (spelled(k, written) || spelled(written, k)) {
			return k, true
		}
	}
	return "", false
}

// spelled says whether a text with accents of their own may be another one with composed letters.
func spelled(apart, composed string) bool {
	a, c, marks := []rune(apart), []rune(composed), false
	for len(a) > 0 && len(c) > 0 {
		n := 1
		for n < len(a) && unicode.Is(unicode.Mn, a[n]) {
			n++
		}
		if a[0] != c[0] && (n == 1 || c[0] < utf8.RuneSelf) || a[0] == c[0] && n > 1 {
			return false
		}
		a, c, marks = a[n:], c[1:], marks || n > 1
	}
	return marks && len(a) == 0 && len(c) == 0
}
