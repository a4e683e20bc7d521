package fresh

import (
	"crypto/sha256"
	"fmt"
	"strconv"
	"strings"
)

// MostParts is the largest number of parts that a release can be rendered in.
const MostParts = 100_000

// Part is one of the parts in which a release is rendered, each by a run of its own: the K-th of N. Its zero
// value is the whole release.
type Part struct {
	K, N int // K from 1 to N, N from 1 to MostParts
}

// ParsePart reads "K/N".
func ParsePart(text string) (Part, error) {
	k, n, _ := strings.Cut(text, "/")
	p := Part{}
	var errs [2]error
	p.K, errs[0] = strconv.Atoi(k)
	p.N, errs[1] = strconv.Atoi(n)
	if errs[0] != nil || errs[1] != nil || p.K < 1 || p.K > p.N || p.N > MostParts {
		return Part{}, fmt.Errorf("%q is not a part; want K/N, such as 3/8, with K from 1 to N and N up to %d",
			text, MostParts)
	}
	return p, nil
}

// Whole says whether it is no part but the whole release.
func (p Part) Whole() bool { return p.N == 0 }

// String is "K/N".
func (p Part) String() string { return fmt.Sprintf("%d/%d", p.K, p.N) }

// Infix is what the names of a part's own files have in them: "-K-N", and nothing for the whole release.
func (p Part) Infix() string {
	if p.Whole() {
		return ""
	}
	return fmt.Sprintf("-%d-%d", p.K, p.N)
}

// Has says whether a track is in the part: the SHA-256 of its name, as one number with the first byte
// highest, leaves K-1 when it is divided by N. So a track stays in its part whatever other tracks the release
// has.
func (p Part) Has(track string) bool {
	if p.Whole() {
		return true
	}
	rest := uint64(0)
	for _, b := range sha256.Sum256([]byte(track)) {
		rest = (rest<<8 | uint64(b)) % uint64(p.N)
	}
	return rest == uint64(p.K-1)
}
