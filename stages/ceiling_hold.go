package stages

import "fmt"

var ceilingHoldKind = Kind{
	Name: "ceiling_hold",
	Doc:  "No sample passes the ceiling, ever.",
	Keys: []Key{
		ceilingKey,
		{Name: "peak", Type: Word, Words: []string{"sample", "true"}, Default: "true", Doc: "Which peak is held."},
		{Name: "method", Type: Word, Words: []string{"band_limited", "plain"}, Default: "band_limited", Doc: "How what is over is removed."},
	},
	New: func(Format, Settings) (Stage, error) { return nil, fmt.Errorf("not there yet") },
}
