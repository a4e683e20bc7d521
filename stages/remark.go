package stages

import "fmt"

// A Remark is what is legal in a chain but odd.
type Remark struct {
	At   int // the stage that it is best told at, from 0
	Text string
}

func remark(at int, format string, args ...any) Remark {
	return Remark{at, fmt.Sprintf(format, args...)}
}

// Remarks are those on every stage of a chain, in its order.
func Remarks(chain []Use) (all []Remark) {
	for k, use := range chain {
		if f := use.Of().Remarks; f != nil {
			all = append(all, f(chain, k)...)
		}
	}
	return all
}
