// Columns finds lines of Go code that are longer than 110 columns. What is in a raw string, such as the tag
// of a field, is as it has to be, and so are generated files and comments that a tool reads.
// Run it in the root of the module:
//
//	go run .ci/columns/*.go
package main

import (
	"bytes"
	"fmt"
	"go/scanner"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"unicode/utf8"
)

const most = 110

var (
	generated = regexp.MustCompile(`(?m)^// Code generated .* DO NOT EDIT\.$`)
	directive = regexp.MustCompile(`^//[a-z]+:`)
)

func main() {
	found := 0
	err := filepath.WalkDir(".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || !strings.HasSuffix(path, ".go") {
			return err
		}
		text, err := os.ReadFile(path)
		for _, line := range long(text) {
			fmt.Fprintf(os.Stderr, "%s:%d: more than %d columns\n", path, line, most)
			found++
		}
		return err
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, "columns:", err)
	}
	if err != nil || found > 0 {
		os.Exit(1)
	}
}

// long are the numbers of the lines that are too long.
func long(text []byte) (lines []int) {
	if generated.Match(text) {
		return nil
	}
	raw := inRaw(text)
	for i, line := range bytes.Split(text, []byte("\n")) {
		if utf8.RuneCount(line) > most && !raw[i+1] && !directive.Match(line) {
			lines = append(lines, i+1)
		}
	}
	return lines
}

// inRaw are the lines that have a part of a raw string.
func inRaw(text []byte) map[int]bool {
	files := token.NewFileSet()
	file := files.AddFile("", -1, len(text))
	var s scanner.Scanner
	s.Init(file, text, nil, 0)
	raw := map[int]bool{}
	for {
		at, kind, literal := s.Scan()
		if kind == token.EOF {
			return raw
		}
		if kind == token.STRING && literal[0] == '`' {
			first := file.Line(at)
			for n := range strings.Count(literal, "\n") + 1 {
				raw[first+n] = true
			}
		}
	}
}
