package main

import (
	"fmt"
	"strings"
)

const fishHead = `# fish completion for ledgerline, made by: ledgerline completion fish
complete -c ledgerline -f
`

func fishScript(all []completion) string {
	var b strings.Builder
	b.WriteString(fishHead)
	for _, c := range all {
		fmt.Fprintf(&b, "complete -c ledgerline -n __fish_use_subcommand -a %s -d %s\n", c.verb,
			fishQuoted(c.about))
	}
	for _, c := range all {
		when := fishQuoted("__fish_seen_subcommand_from " + c.verb)
		for _, f := range c.flags {
			value := ""
			if f.value != "" {
				value = " -x"
			}
			fmt.Fprintf(&b, "complete -c ledgerline -n %s -l %s%s -d %s\n", when, strings.TrimPrefix(f.name, "--"),
				value, fishQuoted(f.about))
		}
		switch {
		case c.words != nil:
			fmt.Fprintf(&b, "complete -c ledgerline -n %s -a %s\n", when, fishQuoted(strings.Join(c.words, " ")))
		case c.extension == "/":
			fmt.Fprintf(&b, "complete -c ledgerline -n %s -a '(__fish_complete_directories)'\n", when)
		case c.extension != "":
			fmt.Fprintf(&b, "complete -c ledgerline -n %s -k -a '(__fish_complete_suffix .%s)'\n", when, c.extension)
		}
	}
	return b.String()
}

// fishQuoted is text as one word of a fish script, whose quotes know \' and \\.
func fishQuoted(text string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(text) + "'"
}
