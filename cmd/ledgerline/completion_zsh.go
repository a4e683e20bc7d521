package main

import (
	"fmt"
	"strings"
)

const zshHead = `#compdef ledgerline
# zsh completion for ledgerline, made by: ledgerline completion zsh
_ledgerline() {
    local -a verbs
    verbs=(
%s    )
    if ((CURRENT == 2)); then
        _describe verb verbs
        return
    fi
    local verb=$words[2]
    shift words
    ((CURRENT--))
    case $verb in
`

const zshTail = `    esac
}
if [[ $funcstack[1] == _ledgerline ]]; then _ledgerline "$@"; else compdef _ledgerline ledgerline; fi
`

func zshScript(all []completion) string {
	var verbs strings.Builder
	for _, c := range all {
		fmt.Fprintf(&verbs, "        %s\n", quoted(c.verb+":"+c.about))
	}
	var b strings.Builder
	fmt.Fprintf(&b, zshHead, verbs.String())
	for _, c := range all {
		zshVerb(&b, c)
	}
	b.WriteString(zshTail)
	return b.String()
}

func zshVerb(b *strings.Builder, c completion) {
	fmt.Fprintf(b, "    %s)\n        _arguments", c.verb)
	for _, f := range c.flags {
		spec := f.name + "[" + strings.NewReplacer("[", "(", "]", ")", ":", "").Replace(f.about) + "]"
		if f.value != "" {
			spec += ":" + f.value + ":"
		}
		fmt.Fprintf(b, " \\\n            %s", quoted(spec))
	}
	what := ""
	switch {
	case c.words != nil:
		what = ":(" + strings.Join(c.words, " ") + ")"
	case c.extension == "/":
		what = ":_files -/"
	case c.extension != "":
		what = ":_files -g \"*." + c.extension + "\""
	}
	if c.several {
		fmt.Fprintf(b, " \\\n            %s", quoted("*:file"+what))
	} else {
		for range c.arguments {
			fmt.Fprintf(b, " \\\n            %s", quoted(":argument"+what))
		}
	}
	b.WriteString(" ;;\n")
}

// quoted is text as one word of a shell script.
func quoted(text string) string {
	return "'" + strings.ReplaceAll(text, "'", `'\''`) + "'"
}
