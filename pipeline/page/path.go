package page

import (
	"strconv"
	"strings"
)

// steps is a path of a value a column, in whole units: the path is the data, and the script reads it back.
// With a floor it is closed there.
func steps(v []int, floor int, closed bool) string {
	if len(v) == 0 {
		return "M0 0"
	}
	var b strings.Builder
	b.WriteString("M0 ")
	if closed {
		b.WriteString(strconv.Itoa(floor))
		relative(&b, 'v', v[0]-floor)
	} else {
		b.WriteString(strconv.Itoa(v[0]))
	}
	run := 1
	for i := 1; i < len(v); i++ {
		if v[i] == v[i-1] {
			run++
			continue
		}
		relative(&b, 'h', run)
		relative(&b, 'v', v[i]-v[i-1])
		run = 1
	}
	relative(&b, 'h', run)
	if closed {
		b.WriteString("V" + strconv.Itoa(floor) + "z")
	}
	return b.String()
}

func relative(b *strings.Builder, command byte, n int) {
	if n != 0 {
		b.WriteByte(command)
		b.WriteString(strconv.Itoa(n))
	}
}

// through is a path through points dx apart, with whole coordinates, from a point on.
func through(x, dx int, y []int) string {
	var b strings.Builder
	b.WriteString("M" + strconv.Itoa(x) + " " + strconv.Itoa(y[0]) + "l")
	for i := 1; i < len(y); i++ {
		if i > 1 {
			b.WriteByte(' ')
		}
		b.WriteString(strconv.Itoa(dx))
		if by := y[i] - y[i-1]; by < 0 {
			b.WriteString(strconv.Itoa(by))
		} else {
			b.WriteString(" " + strconv.Itoa(by))
		}
	}
	return b.String()
}
