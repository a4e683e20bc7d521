package along

import (
	"bufio"
	"fmt"
	"io"
	"math"
)

// Print writes the columns as a table, a row each.
func (r *Record) Print(w io.Writer) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "%9s %8s %8s %9s %8s %8s %8s\n", "time", "peak in", "peak out", "momentary", "removed",
		"noise to", "clipped")
	fmt.Fprintf(out, "%9s %8s %8s %9s %8s %8s %8s\n", "", "dBFS", "dBFS", "LUFS", "dB", "mask dB", "samples")
	for i := range r.PeakIn {
		mask := None
		if len(r.NoiseToMask) > 0 {
			mask = r.NoiseToMask[i]
		}
		fmt.Fprintf(out, "%9s %8s %8s %9s %8s %8s %8d\n", clock(r.Seconds(i)), level(r.PeakIn[i]),
			level(r.PeakOut[i]),
			level(r.Momentary[i]), level(r.Removed[i]), level(mask), r.Clipped[i])
	}
	return out.Flush()
}

// level is a level in a table.
func level(db float64) string {
	if math.IsNaN(db) {
		return "-"
	}
	return fmt.Sprintf("%.2f", db)
}

// clock is a time as "1:02.34".
func clock(s float64) string {
	hundredths := int64(math.Round(s * 100))
	return fmt.Sprintf("%d:%02d.%02d", hundredths/6000, hundredths/100%60, hundredths%100)
}
