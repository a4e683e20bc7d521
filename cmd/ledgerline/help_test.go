package main

import (
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
)

// TestHelp holds the help of every verb to its form.
func TestHelp(t *testing.T) {
	for _, node := range newParser().Model.Children {
		t.Run(node.Name, func(t *testing.T) {
			var text strings.Builder
			printHelp(&text, node)
			for line := range strings.Lines(text.String()) {
				if len([]rune(line)) > 81 {
					t.Errorf("a line of more than 80 columns: %s", line)
				}
			}
			for _, f := range node.Flags {
				if f.Help == "" || !f.IsBool() && f.PlaceHolder == "" {
					t.Errorf("--%s has no help or no name for its value", f.Name)
				}
			}
			for _, arg := range node.Positional {
				if arg.Help == "" {
					t.Errorf("%s has no help", arg.Name)
				}
			}
			checkHelp(t, node)
		})
	}
}

// checkHelp tries a verb's example and looks at its exit codes.
func checkHelp(t *testing.T, node *kong.Node) {
	h := node.Target.Addr().Interface().(verb).help()
	if len(h.exits) == 0 || h.about == "" {
		t.Error("what it does or its exit codes are not given")
	}
	_, args, ok := strings.Cut(strings.ReplaceAll(h.example, "\\\n", ""), "ledgerline ")
	if !ok {
		t.Fatalf("the example does not run the program: %s", h.example)
	}
	v, err := parse(strings.Fields(strings.TrimRight(args, ")")), &streams{out: io.Discard, err: io.Discard})
	if err != nil {
		t.Fatalf("the example is wrong: %v", err)
	}
	if got := v.help().example; got != h.example {
		t.Errorf("the example is one of another verb: %s", got)
	}
	for _, word := range strings.Fields(args) {
		if !strings.HasPrefix(word, "examples/") {
			continue
		}
		if found, _ := filepath.Glob(filepath.Join("..", "..", filepath.FromSlash(word))); len(found) == 0 {
			t.Errorf("the example names what is not there: %s", word)
		}
	}
}

// TestCompletionIsComplete looks for every verb and flag in every script.
func TestCompletionIsComplete(t *testing.T) {
	all := completions(newParser().Model.Node)
	for shell, script := range map[string]func([]completion) string{
		"bash": bashScript, "zsh": zshScript, "fish": fishScript,
	} {
		text := script(all)
		for _, node := range newParser().Model.Children {
			if !strings.Contains(text, node.Name) {
				t.Errorf("%s: no %s", shell, node.Name)
			}
			for _, f := range node.Flags {
				if !strings.Contains(text, f.Name) {
					t.Errorf("%s: no --%s", shell, f.Name)
				}
			}
		}
	}
}

// TestColouredNeedsATerminal: a file gets no colours.
func TestColouredNeedsATerminal(t *testing.T) {
	f, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if coloured(f) {
		t.Error("a file was given colours")
	}
}

// TestNamesAreTakenAsGiven parses the name of a file that is not UTF-8, as old
// disks have them.
func TestNamesAreTakenAsGiven(t *testing.T) {
	const name = "gr\xf6\xdfe, 'a\\b'.wav"
	v, err := parse([]string{"measure", name, "b.wav"}, &streams{})
	if err != nil {
		t.Fatal(err)
	}
	if got := v.(*measureVerb).Files; !slices.Equal(got, []string{name, "b.wav"}) {
		t.Errorf("the files are %q, want %q and b.wav", got, name)
	}
}
