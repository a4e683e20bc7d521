package main

import (
	"fmt"
	"slices"
	"strings"

	"ledgerline/pipeline/coder"
	"ledgerline/pipeline/release"
)

// plannedCoder is a coder that a delivery goes through.
type plannedCoder struct {
	Delivery        string   `json:"delivery"`
	Name            string   `json:"name"`
	Encode          []string `json:"encode"`
	Decode          []string `json:"decode"`
	TruePeakMaxDBTP *float64 `json:"true_peak_max_dbtp,omitempty"`
	Solve           bool     `json:"solve"`
	Missing         []string `json:"missing,omitempty"` // programs that cannot be found, in a sentence each
}

// plannedCoders are those of a release, each once.
func plannedCoders(r *release.Release) (all []plannedCoder) {
	var done []string
	for _, x := range r.Renders {
		if len(x.Coders) == 0 || slices.Contains(done, x.Delivery) {
			continue
		}
		done = append(done, x.Delivery)
		for _, c := range x.Coders {
			all = append(all, plannedCoder{
				x.Delivery, c.Name, c.Encode, c.Decode, c.TruePeakMaxDBTP, c.Solve, coder.Missing(r.Folder, c),
			})
		}
	}
	return all
}

func (c plannedCoder) print(b *strings.Builder) {
	wanted := ""
	if c.TruePeakMaxDBTP != nil {
		wanted = fmt.Sprintf(": what comes back may have a true peak of %v dBTP", *c.TruePeakMaxDBTP)
	}
	if c.Solve {
		wanted += "; its hold is lowered until it has"
	}
	fmt.Fprintf(b, "\ndelivery %s through coder %s%s (only with render --run-coders)\n  %s\n  %s\n", c.Delivery,
		c.Name, wanted, coder.Command(c.Encode), coder.Command(c.Decode))
}
