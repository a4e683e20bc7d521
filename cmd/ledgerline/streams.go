package main

import (
	"io"
	"os"
	"strings"

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

// printFitted prints a text for people to w, its lines broken for a terminal.
func printFitted(w io.Writer, text func(*strings.Builder)) error {
	var b strings.Builder
	text(&b)
	_, columns, _ := terminal(w)
	_, err := io.WriteString(w, fitted(b.String(), columns))
	return err
}

// glue is a space at which no line is broken.
const glue = "\ue000"

// fitted is a text with its lines broken at spaces for a terminal of so many columns, each
// rest set in by four more spaces than its line; without a terminal, which has 0 columns,
// it is the text as it is.
func fitted(text string, columns int) string {
	if columns > 0 {
		var b strings.Builder
		for line := range strings.Lines(text) {
			rest := len(line) - len(strings.TrimLeft(line, " ")) + 4
			line = brokenAt(strings.TrimSuffix(line, "\n"), max(columns-rest, 1), "\n"+strings.Repeat(" ", rest))
			for part := range strings.SplitSeq(line, "\n") {
				b.WriteString(strings.TrimRight(part, " ") + "\n")
			}
		}
		text = b.String()
	}
	return strings.ReplaceAll(text, glue, " ")
}
