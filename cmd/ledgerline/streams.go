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

// terminal is the terminal that w writes to and its width, and whether it is
// one that understands more than plain text.
func terminal(w io.Writer) (f *os.File, columns int, ok bool) {
	f, isFile := w.(*os.File)
	if !isFile || os.Getenv("TERM") == "dumb" || !term.IsTerminal(int(f.Fd())) {
		return nil, 0, false
	}
	columns, _, err := term.GetSize(int(f.Fd()))
	if err != nil || columns < 1 {
		columns = 80
	}
	return f, columns, true
}

// coloured says whether w shall get colours (no-color.org).
func coloured(w io.Writer) bool {
	_, _, ok := terminal(w)
	return ok && os.Getenv("NO_COLOR") == ""
}
