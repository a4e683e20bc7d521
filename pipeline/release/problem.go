package release

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Problem is one mistake in a release file.
type Problem struct {
	File string // as the user gave it
	Line int    // from 1
	Text string // the offending text and what would be right

	house bool  // it is in the file that the release inherits from
	cause error // what the system said; nil: it has nothing to do with it
}

// String is the problem as it is shown: "release.toml:12: ...".
func (p Problem) String() string { return fmt.Sprintf("%s:%d: %s", p.File, p.Line, p.Text) }

// Problems are all the mistakes found in a release file, in the order of their lines.
type Problems []Problem

// Unwrap is the cause of each problem: what the system said, or the problem itself.
func (ps Problems) Unwrap() []error {
	causes := make([]error, len(ps))
	for i, p := range ps {
		if causes[i] = p.cause; p.cause == nil {
			causes[i] = errors.New(p.String())
		}
	}
	return causes
}

// Error is every problem on a line of its own.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// sort puts the problems in the order of their lines, those of a file that is inherited from last; those of
// one line stay in the order in which they were found.
func (ps Problems) sort() {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		switch {
		case a.house && !b.house:
			return 1
		case b.house && !a.house:
			return -1
		}
		return a.Line - b.Line
	})
}
