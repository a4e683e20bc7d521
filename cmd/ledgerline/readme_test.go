package main

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"ledgerline/pipeline/foldertest"
	"ledgerline/stages/stagetest/long"
)

// example makes the working folder a copy of the example's, not rendered yet.
func example(t *testing.T) {
	t.Helper()
	folder := t.TempDir()
	if err := foldertest.CopyExample(folder, "../../examples/night-ferry"); err != nil {
		t.Fatal(err)
	}
	t.Chdir(folder)
}

// rendered are the files of the example and of its render, and what that printed. It is made once.
var rendered = sync.OnceValues(func() (fstest.MapFS, string) {
	must := func(err error) {
		if err != nil {
			panic(err)
		}
	}
	folder, err := os.MkdirTemp("", "rendered")
	must(err)
	defer os.RemoveAll(folder)
	must(foldertest.CopyExample(folder, "../../examples/night-ferry"))
	var o bytes.Buffer
	args := []string{"render", filepath.Join(folder, "release.toml")}
	if code := run(args, &streams{in: strings.NewReader(""), out: &o, err: io.Discard}); code != exitDone {
		panic(fmt.Sprintf("exit code %d\n%s", code, &o))
	}
	files := fstest.MapFS{}
	must(fs.WalkDir(os.DirFS(folder), ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(filepath.Join(folder, name))
		files[name] = &fstest.MapFile{Data: data, Mode: 0o666}
		return err
	}))
	return files, o.String()
})

// renderedExample makes the working folder a copy of the rendered example, and is what the render printed.
func renderedExample(t *testing.T) string {
	t.Helper()
	files, out := rendered()
	folder := t.TempDir()
	if err := os.CopyFS(folder, files); err != nil {
		t.Fatal(err)
	}
	t.Chdir(folder)
	return out
}

// edit changes the release file. It must contain the text to replace.
func edit(t *testing.T, replace, by string) {
	t.Helper()
	text := foldertest.Text(t, "release.toml")
	if !strings.Contains(text, replace) {
		t.Fatalf("release.toml has no %q", replace)
	}
	if err := os.WriteFile("release.toml", []byte(strings.Replace(text, replace, by, 1)), 0o666); err != nil {
		t.Fatal(err)
	}
}

// output is what the program prints. It must end with the exit code.
func output(t *testing.T, code int, args ...string) (out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	if got := run(args, &streams{in: strings.NewReader(""), out: &o, err: &e}); got != code {
		t.Fatalf("exit code %d, want %d\n%s%s", got, code, &o, &e)
	}
	return o.String(), e.String()
}

// wantShown fails unless README shows the whole text as code.
func wantShown(t *testing.T, readme, text string) {
	t.Helper()
	var want strings.Builder
	for line := range strings.Lines(text) {
		if strings.TrimSpace(line) != "" {
			want.WriteString("    ")
		}
		want.WriteString(line)
	}
	if !strings.Contains(readme, "\n\n"+want.String()+"\n") {
		t.Errorf("README.md is out of date; want\n%s", &want)
	}
}

// What README shows of a session is what the program prints.
func TestReadmeShowsTheSessionAsItIs(t *testing.T) {
	long.Only(t, "renders the example")
	readme := foldertest.Text(t, "../../README.md")
	out := renderedExample(t)
	wantShown(t, readme, "$ ledgerline render examples/night-ferry/release.toml\n"+out)
	wantShown(t, readme, foldertest.Text(t, "masters/disc/sheet.txt"))
}

// The figures of README's paragraph about one track are those of its table.
func TestReadmeTellsTheFiguresOfTheTable(t *testing.T) {
	readme := foldertest.Text(t, "../../README.md")
	between := func(from, to string) string {
		_, text, found := strings.Cut(readme, from)
		text, _, ended := strings.Cut(text, to)
		if !found || !ended {
			t.Fatalf("README.md has nothing from %q to %q", from, to)
		}
		return text
	}
	table := between("\n    01 quay ", "\n\n")
	figures := regexp.MustCompile(`-?\d+\.\d\d|\b\d{3,}\b`).FindAllString(between("\nTake `01 quay`.", "\n\n"), -1)
	if len(figures) < 5 {
		t.Errorf("the paragraph has only the figures %q", figures)
	}
	for _, figure := range figures {
		if !regexp.MustCompile(`[ +-]` + regexp.QuoteMeta(figure) + `\s`).MatchString(table) {
			t.Errorf("README.md tells of %s, which its table does not have:\n%s", figure, table)
		}
	}
}

// README's figures of variants are those of the example with its variant uncommented.
func TestReadmeShowsTheVariantsAsTheyAre(t *testing.T) {
	long.Only(t, "renders a variant of the whole example")
	readme := foldertest.Text(t, "../../README.md")
	renderedExample(t)
	_, asComment, _ := strings.Cut(foldertest.Text(t, "release.toml"), "# [variant.plain]\n")
	asComment = "# [variant.plain]\n" + asComment
	variant := strings.ReplaceAll("\n"+asComment, "\n# ", "\n")[1:]
	if block := "\n```toml\n" + variant + "```\n"; !strings.Contains(readme, block) {
		t.Errorf("README.md does not show the last lines of the example: %s", block)
	}
	edit(t, asComment, variant)
	out, _ := output(t, exitRequirement, "render", "release.toml")
	wantShown(t, readme, out)
}

// README's edit of a track, and what render, check and compare print about it.
func TestReadmeShowsWhatAnEditDoes(t *testing.T) {
	long.Only(t, "renders from a copy of the rendered example")
	readme := foldertest.Text(t, "../../README.md")
	renderedExample(t)
	if err := os.WriteFile("before.json", []byte(foldertest.Text(t, "masters/ledger.json")), 0o666); err != nil {
		t.Fatal(err)
	}
	edit(t, "drive.gain_db = 3.0", "drive.gain_db = 3.5")
	out, _ := output(t, exitDone, "check", "release.toml")
	_, breakwater, _ := strings.Cut(out, "\n02 breakwater\n")
	breakwater, _, _ = strings.Cut(breakwater, "\n\n")
	wantShown(t, readme, "$ ledgerline check release.toml\n...\n02 breakwater\n"+breakwater+"\n")
	_, errs := output(t, exitDone, "render", "release.toml")
	wantShown(t, readme, "$ ledgerline render release.toml\n"+errs)
	out, _ = output(t, exitDone, "compare", "before.json", "masters/ledger.json")
	wantShown(t, readme, "$ git show HEAD:./masters/ledger.json | ledgerline compare - masters/ledger.json\n"+
		out)
}

func TestReadmeShowsWhatIsMeasured(t *testing.T) {
	readme := foldertest.Text(t, "../../README.md")
	example(t)
	mixes, err := filepath.Glob("mixes/*.wav")
	if err != nil {
		t.Fatal(err)
	}
	out, _ := output(t, exitDone, append([]string{"measure"}, mixes...)...)
	wantShown(t, readme, "$ ledgerline measure mixes/*.wav\n"+out)
}

func TestReadmeShowsASurvey(t *testing.T) {
	long.Only(t, "renders the example many times")
	readme := foldertest.Text(t, "../../README.md")
	example(t)
	survey := func(code int, flags ...string) {
		args := append([]string{"survey", "release.toml", "--track", "01 quay", "--set", "drive.gain_db"}, flags...)
		out, _ := output(t, code, args...)
		wantShown(t, readme, `$ ledgerline survey release.toml --track "01 quay" --set drive.gain_db `+
			strings.Join(flags, " ")+"\n"+strings.TrimSuffix(out, "\n"))
	}
	survey(exitDone, "--from", "3", "--to", "6", "--step", "0.5", "--limit", "disturbed_max_percent=1")
	survey(exitRequirement, "--target", "loudness_lufs=-9.5", "--limit", "disturbed_max_percent=1")
}

func TestReadmeShowsMistakesAsTheyArePrinted(t *testing.T) {
	readme := foldertest.Text(t, "../../README.md")
	example(t)
	edit(t, "factor       = 8", "factor = 3")
	edit(t, "name         = \"hold\"\n", "bits         = 24\nname         = \"hold\"\n")
	edit(t, "sample_peak_max_dbfs", "sample_peak_max_db")
	_, errs := output(t, exitUsage, "render", "release.toml")
	wantShown(t, readme, errs)
}
