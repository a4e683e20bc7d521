package coder

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"
	"unicode"

	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// program is one that has been looked for.
type program struct {
	path    string
	version string // the first line that it prints when it is asked, or the hash of its file
	err     error
	once    sync.Once
}

// versionLimit is how long a program may take to tell its version.
const versionLimit = 5 * time.Second

// maxVersion is how long a version's line may be, in bytes.
const maxVersion = 200

// Find is the path of a program, named as in a release file in folder: one with a slash in its name is
// relative to that folder, any other is in PATH.
func Find(folder, name string) (string, error) {
	lookedFor, where := name, "in PATH"
	if strings.ContainsAny(name, `/\`) {
		where = "at that path, or it may not be run"
		if !filepath.IsAbs(name) {
			lookedFor = filepath.Join(folder, filepath.FromSlash(name))
		}
	}
	path, err := exec.LookPath(lookedFor)
	if err != nil {
		return "", fmt.Errorf("there is no program %q %s; install it, or name another", name, where)
	}
	return filepath.Abs(path)
}

// Missing says which of a coder's programs cannot be found, in a sentence each.
func Missing(folder string, c release.Coder) (texts []string) {
	for i, args := range [][]string{c.Encode, c.Decode} {
		if _, err := Find(folder, args[0]); err != nil {
			texts = append(texts, fmt.Sprintf("%s: coder %q: %s: %v", c.At, c.Name, []string{"encode", "decode"}[i],
				err))
			if i == 0 && args[0] == c.Decode[0] {
				break
			}
		}
	}
	return texts
}

// Versions are those of a coder's two programs. Errors are as Run's.
func (b *Bench) Versions(ctx context.Context, c release.Coder) ([]string, error) {
	both, err := b.both(ctx, c)
	if err != nil {
		if ctx.Err() == nil {
			err = fmt.Errorf("%s: coder %q: %w", c.At, c.Name, err)
		}
		return nil, err
	}
	return []string{both[0].version, both[1].version}, nil
}

// both are the programs of a coder.
func (b *Bench) both(ctx context.Context, c release.Coder) (both [2]*program, err error) {
	for i, name := range []string{c.Encode[0], c.Decode[0]} {
		p := b.program(name)
		p.once.Do(func() { p.look(ctx, b, name) })
		if p.err != nil {
			return both, fmt.Errorf("%s: %w", []string{"encode", "decode"}[i], p.err)
		}
		both[i] = p
	}
	return both, ctx.Err()
}

func (b *Bench) program(name string) *program {
	b.mu.Lock()
	defer b.mu.Unlock()
	p := b.programs[name]
	if p == nil {
		p = &program{}
		b.programs[name] = p
	}
	return p
}

// look finds a program and its version.
func (p *program) look(ctx context.Context, b *Bench, name string) {
	if p.path, p.err = Find(b.folder, name); p.err != nil {
		return
	}
	scratch, err := whole.NewScratch(b.scratch)
	if err != nil {
		p.err = fmt.Errorf("a scratch folder: %w", err)
		return
	}
	defer scratch.Remove()
	for _, flag := range []string{"--version", "-version"} {
		said := &head{}
		run := process{dir: scratch.Path, limit: versionLimit, most: roomMore, out: said}
		if run.run(ctx, "version", p.path, []string{flag}) == nil {
			if p.version = firstLine(said.text.Bytes()); p.version != "" {
				return
			}
		}
	}
	p.version, p.err = hashOf(p.path)
}

// hashOf serves as the version of a program that tells none.
func hashOf(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "", err
	}
	return "sha256 " + hex.EncodeToString(sum.Sum(nil)), nil
}

// firstLine is the first line that is not empty, without what cannot be printed.
func firstLine(text []byte) string {
	for line := range bytes.Lines(text) {
		if s := plain(string(bytes.TrimSpace(line))); s != "" {
			return s[:min(len(s), maxVersion)]
		}
	}
	return ""
}

// plain is a text in which what cannot be printed is a question mark.
func plain(text string) string {
	return strings.Map(func(r rune) rune {
		if r == unicode.ReplacementChar || !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, text)
}

// head keeps the beginning of what is written to it.
type head struct{ text bytes.Buffer }

func (h *head) Write(p []byte) (int, error) {
	h.text.Write(p[:min(len(p), max(0, 4096-h.text.Len()))])
	return len(p), nil
}
