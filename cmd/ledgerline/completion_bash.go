package main

import (
	"fmt"
	"strings"
)

const bashHead = `# bash completion for ledgerline, made by: ledgerline completion bash
_ledgerline_words() { mapfile -t COMPREPLY < <(compgen -W "$1" -- "$2"); }
_ledgerline_files() {
    mapfile -t COMPREPLY < <(compgen -d -- "$2"; compgen -f -X "!*.$1" -- "$2")
    compopt -o filenames 2>/dev/null
}
_ledgerline_folders() {
    mapfile -t COMPREPLY < <(compgen -d -- "$1")
    compopt -o filenames 2>/dev/null
}
_ledgerline() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}
    COMPREPLY=()
    if ((COMP_CWORD == 1)); then
        _ledgerline_words "%s" "$word"
        return
    fi
    case ${COMP_WORDS[1]} in
`

const bashTail = `    esac
}
complete -F _ledgerline ledgerline
`

func bashScript(all []completion) string {
	var verbs []string
	for _, c := range all {
		verbs = append(verbs, c.verb)
	}
	var b strings.Builder
	fmt.Fprintf(&b, bashHead, strings.Join(verbs, " "))
	for _, c := range all {
		bashVerb(&b, c)
	}
	b.WriteString(bashTail)
	return b.String()
}

func bashVerb(b *strings.Builder, c completion) {
	var flags, valued []string
	for _, f := range c.flags {
		flags = append(flags, f.name)
		if f.value != "" {
			valued = append(valued, f.name)
		}
	}
	fmt.Fprintf(b, "    %s)\n", c.verb)
	if len(valued) > 0 {
		fmt.Fprintf(b, "        case $before in %s) return ;; esac\n", strings.Join(valued, "|"))
	}
	fmt.Fprintf(b, "        case $word in\n        -*) _ledgerline_words %q \"$word\" ;;\n",
		strings.Join(flags, " "))
	switch {
	case c.words != nil:
		fmt.Fprintf(b, "        *) _ledgerline_words %q \"$word\" ;;\n", strings.Join(c.words, " "))
	case c.extension == "/":
		b.WriteString("        *) _ledgerline_folders \"$word\" ;;\n")
	case c.extension != "":
		fmt.Fprintf(b, "        *) _ledgerline_files %s \"$word\" ;;\n", c.extension)
	}
	b.WriteString("        esac ;;\n")
}
