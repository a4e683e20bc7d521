package main

import (
	"io"
	"os"

	"golang.org/x/term"
)

// streams are where a verb reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// terminal is the width of the terminal that w writes to, and whether it is
// one that understands more than plain text.
func terminal(w io.Writer) (columns int, ok bool) {
	f, isFile := w.(*os.File)
	if !isFile || os.Getenv("TERM") == "dumb" || !term.IsTerminal(int(f.Fd())) {
		return 0, false
	}
	columns, _, err := term.GetSize(int(f.Fd()))
	if err != nil || columns < 1 {
		columns = 80
	}
	return columns, true
}

// coloured says whether w shall get colours (no-color.org).
func coloured(w io.Writer) bool {
	_, ok := terminal(w)
	return ok && os.Getenv("NO_COLOR") == ""
}
