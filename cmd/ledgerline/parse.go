package main

import (
	"context"
	"encoding"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// A verb does one of the program's jobs. No positional may be left out unless it has a
// default, or be empty; complete sees to that, since the parser takes an empty one. For
// completion a positional may have a "files" tag, the extension of the files that it names
// or "/" for a folder, or a "words" tag, the words that it can be.
type verb interface {
	run(ctx context.Context, s *streams) error
	help() verbHelp
}

// verbs is the command line, in the order in which the verbs are listed.
type verbs struct {
	New        newVerb        `cmd:"" help:"Write a release file to start from."`
	Render     renderVerb     `cmd:"" help:"Render a release and write its ledger."`
	Watch      watchVerb      `cmd:"" help:"Render a release, and again whenever it changes."`
	Check      checkVerb      `cmd:"" help:"Check a release file and print its plan."`
	Survey     surveyVerb     `cmd:"" help:"Step one setting through values and say what each costs."`
	Tidy       tidyVerb       `cmd:"" help:"List or delete files that a release no longer uses."`
	Verify     verifyVerb     `cmd:"" help:"Check that all files of a ledger are as it records them."`
	Measure    measureVerb    `cmd:"" help:"Measure audio files and list what to check in them."`
	Show       showVerb       `cmd:"" help:"Print a stored ledger."`
	Page       pageVerb       `cmd:"" help:"Draw a stored ledger as a page."`
	Listen     listenVerb     `cmd:"" help:"Serve a page for listening to a release, openly or blind."`
	Compare    compareVerb    `cmd:"" help:"List what differs between two ledgers."`
	Completion completionVerb `cmd:"" help:"Print a shell's completion script."`
	Version    versionVerb    `cmd:"" help:"Print the version."`
}

// helpVerb shows help instead of doing a verb.
type helpVerb struct{ node *kong.Node }

func (h helpVerb) run(_ context.Context, s *streams) error {
	printHelp(s.out, h.node)
	return nil
}

func (helpVerb) help() verbHelp { return verbHelp{} }

func newParser() *kong.Kong {
	text := kong.MapperFunc(func(c *kong.DecodeContext, target reflect.Value) error {
		value, err := given(c)
		target.SetString(value)
		return err
	})
	parsed := kong.MapperFunc(func(c *kong.DecodeContext, target reflect.Value) error {
		value, err := given(c)
		if err != nil {
			return err
		}
		return target.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(value))
	})
	optional := kong.MapperFunc(func(c *kong.DecodeContext, target reflect.Value) error {
		target.Set(reflect.New(target.Type().Elem()))
		return parsed(c, target.Elem())
	})
	return kong.Must(&verbs{}, kong.Name("ledgerline"), kong.NoDefaultHelp(),
		kong.KindMapper(reflect.String, text),
		kong.TypeMapper(reflect.TypeFor[count](), parsed), kong.TypeMapper(reflect.TypeFor[decibels](), parsed),
		kong.TypeMapper(reflect.TypeFor[*number](), optional), kong.TypeMapper(reflect.TypeFor[part](), parsed),
		kong.TypeMapper(reflect.TypeFor[progressForm](), parsed), kong.Vars{
			"jobs":      defaultJobs(),
			"release":   release.Name,
			"tolerance": strconv.FormatFloat(ledger.DefaultToleranceDB, 'f', -1, 64),
		})
}

// given is the next value on the command line, byte for byte. The parser's own way goes
// through JSON, which spoils a file name that is not UTF-8. A number may begin with a dash.
func given(c *kong.DecodeContext) (string, error) {
	t := c.Scan.Pop()
	switch {
	case t.IsEOL():
		return "", errors.New("its value is missing")
	case !t.IsValue() && !isNumber(t.String()):
		return "", fmt.Errorf("its value is missing; one that begins with a dash is joined to it: %s=%s",
			c.Value.ShortSummary(), t)
	}
	return t.String(), nil
}

func isNumber(text string) bool {
	_, err := strconv.ParseFloat(text, 64)
	return err == nil
}

// parse is the verb that the arguments ask for, with its flags set.
func parse(args []string, s *streams) (verb, error) {
	p := newParser()
	if len(args) == 0 || args[0] == "" {
		printHelp(s.err, p.Model.Node)
		return nil, &failure{code: exitUsage}
	}
	args, wanted := helpWanted(args)
	if wanted && len(args) == 0 {
		return helpVerb{p.Model.Node}, nil
	}
	if node := verbNamed(p, args[0]); wanted && node != nil {
		return helpVerb{node}, nil
	}
	if args[0] == "--version" {
		args = append([]string{"version"}, args[1:]...)
	}
	if name := strings.TrimLeft(args[0], "-"); name != args[0] && verbNamed(p, name) != nil {
		return nil, wrongUsage(fmt.Sprintf("did you mean %s?", name), "unknown flag %s", args[0])
	}
	c, err := p.Parse(args)
	if err != nil {
		return nil, parseError(err)
	}
	node := c.Selected()
	if err := complete(node); err != nil {
		return nil, err
	}
	return node.Target.Addr().Interface().(verb), nil
}

// helpWanted is args without the request for help in them, if there is one.
func helpWanted(args []string) ([]string, bool) {
	if args[0] == "help" {
		return args[1:], true
	}
	for i, a := range args {
		if a == "--" {
			break
		}
		if a == "--help" || a == "-h" {
			return append(append([]string(nil), args[:i]...), args[i+1:]...), true
		}
	}
	return args, false
}

func verbNamed(p *kong.Kong, name string) *kong.Node {
	for _, n := range p.Model.Children {
		if n.Name == name {
			return n
		}
	}
	return nil
}

// complete reports a positional that is missing.
func complete(node *kong.Node) error {
	for _, arg := range node.Positional {
		if list, ok := arg.Target.Interface().([]string); arg.Target.IsZero() || ok && slices.Contains(list, "") {
			return wrongUsage(fmt.Sprintf("ledgerline %s --help shows an example", node.Name), "%s: %s is missing",
				node.Name, arg.Name)
		}
	}
	return nil
}

// parseError puts the parser's errors into our words.
func parseError(err error) error {
	text, near, _ := strings.Cut(err.Error(), ", did you mean ")
	hint := "ledgerline --help lists the verbs"
	var p *kong.ParseError
	if errors.As(err, &p) && p.Context != nil {
		if node := p.Context.Selected(); node != nil {
			hint = fmt.Sprintf("ledgerline %s --help lists its arguments and flags", node.Name)
			text = node.Name + ": " + text
		} else {
			text = strings.Replace(text, "unexpected argument", "unknown verb", 1)
			if strings.HasPrefix(text, "expected one of") {
				text = "a verb is missing"
			}
		}
	}
	if near != "" {
		hint = "did you mean " + strings.ReplaceAll(near, `"`, "")
	}
	if flag, value, ok := strings.Cut(text, ": bool value must be true, 1, yes, false, 0 or no but got "); ok {
		text = fmt.Sprintf("%s takes no value; leave out =%s", flag, strings.Trim(value, `"`))
	}
	return wrongUsage(hint, "%s", strings.NewReplacer(`missing value, expecting "<arg>"`,
		"its value is missing", "<", "", ">", "").Replace(text))
}

// count is a number of things, 1 or more.
type count int

func (c *count) UnmarshalText(text []byte) error {
	n, err := strconv.Atoi(string(text))
	if err != nil || n < 1 {
		return fmt.Errorf("%q is not a whole number from 1 up", text)
	}
	*c = count(n)
	return nil
}

// part is a part of a release; zero: all of it.
type part fresh.Part

func (p *part) UnmarshalText(text []byte) error {
	x, err := fresh.ParsePart(string(text))
	*p = part(x)
	return err
}

// progressForm is the form of a render's progress; empty: the usual one.
type progressForm string

const progressJSON progressForm = "json"

func (p *progressForm) UnmarshalText(text []byte) error {
	if *p = progressForm(text); *p != progressJSON {
		return fmt.Errorf("%q is not a form of progress; want json", text)
	}
	return nil
}

// decibels is a distance between two levels, 0 or more.
type decibels float64

func (d *decibels) UnmarshalText(text []byte) error {
	x, err := strconv.ParseFloat(string(text), 64)
	if err != nil || !(x >= 0) {
		return fmt.Errorf("%q is not a number of decibels from 0 up", text)
	}
	*d = decibels(x)
	return nil
}
