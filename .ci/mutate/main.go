// Mutate makes one small fault after another, each in a copy of a file that the Go command
// is told to read instead (go help build, -overlay), and runs the tests that must notice it.
// It fails where they pass, where a fault no longer applies to the file, and where the tests
// fail without one. Run it in the root of the module:
//
//	go run .ci/mutate/*.go [NAME ...]
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
)

// A mutation is a fault, and the tests that must fail with it.
type mutation struct {
	name     string
	file     string // from the root of the module
	old, new string // old is there exactly once
	pkg, run string // go test pkg -run run
	tags     string // build tags; empty: none
}

func main() {
	if err := mutate(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

func mutate(names []string) error {
	chosen := mutations
	if len(names) > 0 {
		chosen = slices.DeleteFunc(slices.Clone(mutations), func(m mutation) bool {
			return !slices.Contains(names, m.name)
		})
	}
	if len(chosen) == 0 {
		return fmt.Errorf("no mutation is named so")
	}
	folder, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	problems := each(baselines(chosen), func(m mutation) string {
		if out, err := m.test(); err != nil {
			return fmt.Sprintf("go test %s -run %s fails without a fault:\n%s", m.pkg, m.run, out)
		}
		return ""
	})
	if len(problems) == 0 {
		problems = each(chosen, func(m mutation) string { return m.problem(folder) })
	}
	for _, p := range problems {
		fmt.Fprintln(os.Stderr, p)
	}
	if len(problems) > 0 {
		return fmt.Errorf("%d problems", len(problems))
	}
	fmt.Printf("%d mutations, each noticed by its tests\n", len(chosen))
	return nil
}

// each calls do for every mutation, a few at once, and gathers what is wrong, in order.
func each(all []mutation, do func(mutation) string) []string {
	problems := make([]string, len(all))
	tokens := make(chan struct{}, max(1, runtime.NumCPU()))
	var g sync.WaitGroup
	for i, m := range all {
		g.Go(func() {
			tokens <- struct{}{}
			defer func() { <-tokens }()
			problems[i] = do(m)
		})
	}
	g.Wait()
	return slices.DeleteFunc(problems, func(p string) bool { return p == "" })
}

// baselines are all tests of the mutations, those of a package together.
func baselines(all []mutation) (one []mutation) {
	for _, m := range all {
		i := slices.IndexFunc(one, func(o mutation) bool { return o.pkg == m.pkg && o.tags == m.tags })
		if i < 0 {
			one = append(one, mutation{pkg: m.pkg, tags: m.tags, run: m.run})
		} else if !strings.Contains(one[i].run, m.run) {
			one[i].run += "|" + m.run
		}
	}
	return one
}

// problem makes the fault and says what is wrong if the tests do not notice it.
func (m mutation) problem(folder string) string {
	overlay, err := m.overlay(folder)
	if err != nil {
		return fmt.Sprintf("%s: %v", m.name, err)
	}
	out, err := m.test("-overlay", overlay)
	switch {
	case err == nil:
		return fmt.Sprintf("%s: SURVIVED: go test %s -run %s passes with %s changed from\n%s\nto\n%s", m.name,
			m.pkg, m.run, m.file, m.old, m.new)
	case !bytes.Contains(out, []byte("--- FAIL")) && !bytes.Contains(out, []byte("panic:")):
		return fmt.Sprintf("%s: no test failed, but go test did:\n%s", m.name, out)
	}
	fmt.Println("noticed:", m.name)
	return ""
}

// overlay writes the file with its fault, and what tells the Go command of it.
func (m mutation) overlay(folder string) (string, error) {
	text, err := os.ReadFile(m.file)
	if err != nil {
		return "", err
	}
	if n := strings.Count(string(text), m.old); n != 1 {
		return "", fmt.Errorf("%s has this %d times, want once:\n%s", m.file, n, m.old)
	}
	path, err := filepath.Abs(m.file)
	if err != nil {
		return "", err
	}
	base := filepath.Join(folder, strings.ReplaceAll(m.name, " ", "_"))
	faulty := base + "_" + filepath.Base(m.file)
	if err := os.WriteFile(faulty, []byte(strings.Replace(string(text), m.old, m.new, 1)), 0o666); err != nil {
		return "", err
	}
	list, err := json.Marshal(map[string]map[string]string{"Replace": {path: faulty}})
	if err != nil {
		return "", err
	}
	return base + ".json", os.WriteFile(base+".json", list, 0o666)
}

// test runs the tests and gives what they say.
func (m mutation) test(flags ...string) ([]byte, error) {
	args := append([]string{"test", "-count=1", "-vet=off", "-run", m.run}, flags...)
	if m.tags != "" {
		args = append(args, "-tags", m.tags)
	}
	out, err := exec.Command("go", append(args, m.pkg)...).CombinedOutput()
	if err == nil && bytes.Contains(out, []byte("no tests to run")) {
		err = fmt.Errorf("no tests")
	}
	return out, err
}
