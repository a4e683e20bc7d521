package stages

import "fmt"

var ditherKind = Kind{
	Name: "dither",
	Doc:  "Quantises to a word length; the same seed gives the same bytes.",
	Keys: []Key{
		{Name: "bits", Type: Integer, Min: 2, Max: 32, Required: true, Unit: "bits", Doc: "The word length."},
		{Name: "density", Type: Word, Words: []string{"triangular", "rectangular", "none"}, Default: "triangular", Doc: "The dither's probability density."},
		{Name: "seed", Type: Integer, Min: 0, Max: 1 << 53, Default: int64(0), Doc: "Chooses another noise of the same kind."},
		{Name: "ceiling_dbfs", Type: Number, Min: -60, Max: 0, Unit: "dBFS", Doc: "Codes beyond this level become the largest code within it."},
	},
	New: func(Format, Settings) (Stage, error) { return nil, fmt.Errorf("not there yet") },
}
