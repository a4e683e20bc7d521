package main

import (
	"context"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

// completionVerb prints a script that teaches a shell the verbs and flags. The
// scripts are made from the command line's own model, so they cannot drift.
type completionVerb struct {
	Shell string `arg:"" optional:"" name:"SHELL" words:"bash zsh fish" help:"bash, zsh or fish."`
}

func (v *completionVerb) run(_ context.Context, s *streams) error {
	script, ok := map[string]func([]completion) string{"bash": bashScript, "zsh": zshScript,
		"fish": fishScript}[v.Shell]
	if !ok {
		return wrongUsage("bash, zsh and fish are known", "completion: unknown shell %s", v.Shell)
	}
	_, err := io.WriteString(s.out, script(completions(newParser().Model.Node)))
	return err
}

func (*completionVerb) help() verbHelp {
	return verbHelp{
		about: `Prints a script that completes verbs, flags and file names.
bash: put the example's line into ~/.bashrc. zsh: write it to a file named
_ledgerline in a folder of $fpath. fish: write it to
~/.config/fish/completions/ledgerline.fish.`,
		example: "source <(ledgerline completion bash)",
		exits:   []exit{{exitDone, "printed"}, {exitUsage, "unknown shell"}},
	}
}

// completion is what may follow one verb.
type completion struct {
	verb, about string
	flags       []completionFlag
	words       []string // the words that its argument can be
	extension   string   // of the files that its arguments name; empty: none, "/": folders
	several     bool     // the argument may be repeated
	arguments   int
}

type completionFlag struct {
	name, about string
	value       string // placeholder of the flag's value; empty: it has none
}

// completions is the whole command line, verb by verb.
func completions(app *kong.Node) []completion {
	var all []completion
	for _, n := range app.Children {
		c := completion{verb: n.Name, about: oneLine(n.Help), arguments: len(n.Positional)}
		for _, f := range n.Flags {
			flag := completionFlag{name: "--" + f.Name, about: oneLine(f.Help)}
			if !f.IsBool() {
				flag.value = f.PlaceHolder
			}
			c.flags = append(c.flags, flag)
		}
		c.flags = append(c.flags, completionFlag{name: "--help", about: "Show help"})
		for _, arg := range n.Positional {
			c.extension = arg.Tag.Get("files")
			c.several = arg.IsCumulative()
			if words := arg.Tag.Get("words"); words != "" {
				c.words = strings.Fields(words)
			}
		}
		all = append(all, c)
	}
	return all
}

// oneLine is a help text as shells show it.
func oneLine(text string) string {
	return strings.TrimSuffix(strings.ReplaceAll(text, "\n", " "), ".")
}
