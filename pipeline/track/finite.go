package track

import (
	"fmt"
	"math"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// nonFinite keeps NaN and infinite samples of a file from the chain.
type nonFinite struct {
	zeros bool // they become zeros, and are no error
	rate  int

	past    int64 // frames looked at
	count   int64
	first   int64 // frame of the first
	channel int   // its channel

	ends []int64 // of a stream, the first frames after each of its mixes
}

// look counts the samples of a batch that are not finite. Where zeros are
// allowed the chain is fed those in their place, while boundary 0 keeps the
// samples, to be read there. Otherwise the rest of the file is only counted,
// and the end of the file is an error.
func (o *nonFinite) look(b *batch) error {
	found := o.search(b.at[0])
	o.past += int64(b.at[0].Frames())
	switch {
	case found && o.zeros:
		b.clean = b.clean.Empty().Append(b.at[0])
		zero(b.clean)
		b.in = b.clean
	case o.count > 0 && !o.zeros:
		b.at[0] = b.at[0].Empty()
		b.in = b.at[0]
		if b.last {
			return o.refuse()
		}
	}
	return nil
}

// search counts, and says whether there was anything to count.
func (o *nonFinite) search(b stages.Block) bool {
	before := o.count
	first := b.Frames()
	for c, x := range b {
		for i, v := range x {
			if finite(v) {
				continue
			}
			if o.count++; before == 0 && i < first {
				first = i
				o.first, o.channel = o.past+int64(i), c
			}
		}
	}
	return o.count > before
}

func (o *nonFinite) refuse() error {
	what := "samples of the mix are NaN or infinite, the first"
	if o.count == 1 {
		what = "sample of the mix is NaN or infinite,"
	}
	first, in := o.first, 0
	for in < len(o.ends) && o.first >= o.ends[in] {
		first = o.first - o.ends[in]
		in++
	}
	err := fmt.Errorf("%d %s at %v s in channel %d: --allow-nonfinite puts zeros in their place",
		o.count, what, ledger.Seconds(first, o.rate), o.channel+1)
	if len(o.ends) > 0 {
		return &MemberError{in, err}
	}
	return err
}

func zero(b stages.Block) {
	for _, x := range b {
		for i, v := range x {
			if !finite(v) {
				x[i] = 0
			}
		}
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
