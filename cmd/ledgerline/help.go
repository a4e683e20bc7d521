package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

// verbHelp is what a verb's --help says beside its arguments and flags.
type verbHelp struct {
	about   string // lines of at most 78 columns
	example string // one command that runs unchanged in a checkout
	exits   []exit
}

// exit is what one exit code means for a verb.
type exit struct {
	code    int
	meaning string
}

const (
	programAbout = `Ledgerline renders a release from a text file: a chain of stages over every mix,
measured before and after each stage, with a ledger of the headroom that each
gained or lost.`
	programExample = "ledgerline render examples/night-ferry/release.toml"
)

// printHelp writes the help of a verb, or of the program.
func printHelp(w io.Writer, node *kong.Node) {
	if node.Type == kong.ApplicationNode {
		printProgramHelp(w, node)
		return
	}
	h := node.Target.Addr().Interface().(verb).help()
	fmt.Fprintf(w, "ledgerline %s\n\n%s\n", usage(node), h.about)
	printRows(w, "", argumentRows(node))
	printRows(w, "", flagRows(node))
	fmt.Fprintf(w, "\nExample\n  %s\n", h.example)
	var rows [][2]string
	for _, e := range h.exits {
		rows = append(rows, [2]string{fmt.Sprint(e.code), e.meaning})
	}
	printRows(w, "Exit codes", rows)
}

func printProgramHelp(w io.Writer, app *kong.Node) {
	fmt.Fprintf(w, "ledgerline VERB [argument or flag]...\n\n%s\n", programAbout)
	var rows [][2]string
	for _, n := range app.Children {
		rows = append(rows, [2]string{n.Name, n.Help})
	}
	printRows(w, "Verbs", rows)
	fmt.Fprintf(w, "\nExample\n  %s\n", programExample)
	fmt.Fprintf(w, "\nledgerline VERB --help describes a verb and its flags.\n")
}

// usage is a verb with its arguments, flags last.
func usage(node *kong.Node) string {
	words := []string{node.Name}
	for _, arg := range node.Positional {
		name := arg.Name
		if arg.IsCumulative() {
			name += "..."
		}
		if arg.HasDefault {
			name = "[" + name + "]"
		}
		words = append(words, name)
	}
	if len(node.Flags) > 0 {
		words = append(words, "[flag]...")
	}
	return strings.Join(words, " ")
}

func argumentRows(node *kong.Node) (rows [][2]string) {
	for _, arg := range node.Positional {
		rows = append(rows, [2]string{arg.Name, arg.Help})
	}
	return rows
}

func flagRows(node *kong.Node) (rows [][2]string) {
	for _, f := range node.Flags {
		name := "--" + f.Name
		if !f.IsBool() {
			name += " " + f.PlaceHolder
		}
		rows = append(rows, [2]string{name, f.Help})
	}
	return rows
}

// printRows writes a title, if there is one, and rows of two columns below it.
// A second column of several lines stays in its column.
func printRows(w io.Writer, title string, rows [][2]string) {
	if len(rows) == 0 {
		return
	}
	fmt.Fprintln(w)
	if title != "" {
		fmt.Fprintln(w, title)
	}
	width := 0
	for _, r := range rows {
		width = max(width, len(r[0]))
	}
	for _, r := range rows {
		text := strings.ReplaceAll(r[1], "\n", "\n"+strings.Repeat(" ", width+4))
		fmt.Fprintf(w, "  %-*s  %s\n", width, r[0], text)
	}
}
