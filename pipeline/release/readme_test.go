package release

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"ledgerline/pipeline/foldertest"
	"ledgerline/stages"
)

const exampleRelease = "../../examples/night-ferry/release.toml"

// A readmeRow is a row of one of README's tables of keys.
type readmeRow struct{ values, byDefault, example string }

// readmeKeys are the rows of the table below a heading of README, by key.
func readmeKeys(t *testing.T, readme, heading string) map[string]readmeRow {
	t.Helper()
	_, below, ok := strings.Cut(readme, "\n"+heading+"\n")
	if !ok {
		t.Fatalf("README.md has no heading %q", heading)
	}
	below, _, _ = strings.Cut(below, "\n#")
	rows := map[string]readmeRow{}
	for line := range strings.Lines(below) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		if len(cells) != 5 || !strings.HasPrefix(strings.TrimSpace(cells[0]), "`") {
			continue
		}
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		rows[strings.Trim(cells[0], "`")] = readmeRow{cells[1], cells[2], strings.Trim(cells[3], "`")}
	}
	return rows
}

// inReadme is how README writes the values of a key, and its default.
func inReadme(key stages.Key) (values, byDefault string) {
	switch {
	case key.Type == stages.Word || key.Type == stages.List:
		words := make([]string, len(key.Words))
		for i, w := range key.Words {
			words[i] = "`" + strconv.Quote(w) + "`"
		}
		values = strings.Join(words, ", ")
	case key.Type == stages.Truth:
		values = "`true`, `false`"
	case len(key.Choices) > 0:
		values = strings.Trim(strings.ReplaceAll(fmt.Sprint(key.Choices), " ", ", "), "[]")
	default:
		values = strings.TrimSpace(figure(key.Min) + " to " + figure(key.Max) + " " + key.Unit)
	}
	switch d := key.Default.(type) {
	case nil:
		byDefault = "none"
	case string:
		byDefault = "`" + strconv.Quote(d) + "`"
	case bool:
		byDefault = fmt.Sprintf("`%v`", d)
	case stages.WordList:
		byDefault = "`[" + strings.Join(quoted(d.Words()), ", ") + "]`"
	default:
		byDefault = fmt.Sprint(d)
	}
	if key.Required {
		byDefault = "required"
	}
	return values, byDefault
}

func TestReadmeHasEveryKeyOfEveryKind(t *testing.T) {
	readme := foldertest.Text(t, "../../README.md")
	for _, kind := range stages.Kinds() {
		t.Run(kind.Name, func(t *testing.T) {
			rows := readmeKeys(t, readme, "#### `"+kind.Name+"`")
			for _, key := range kind.Keys {
				checkRow(t, rows, key)
				delete(rows, key.Name)
			}
			for name := range rows {
				t.Errorf("README.md has a key %s that the kind has not", name)
			}
		})
	}
}

// checkRow compares README's row of a key with the key, and tries its example.
func checkRow(t *testing.T, rows map[string]readmeRow, key stages.Key) {
	t.Helper()
	row, ok := rows[key.Name]
	if !ok {
		t.Errorf("README.md has no row for %s", key.Name)
		return
	}
	if values, byDefault := inReadme(key); row.values != values || row.byDefault != byDefault {
		t.Errorf("README.md says of %s %q by default %q, want %q by default %q", key.Name, row.values,
			row.byDefault, values, byDefault)
	}
	var example map[string]any
	if _, err := toml.Decode(row.example, &example); err != nil {
		t.Errorf("README.md's example of %s: %v", key.Name, err)
	} else if _, fault := fit(key,
		(&checker{}).parse([]byte(row.example)).table[key.Name].data()); fault != "" || len(example) != 1 {
		t.Errorf("README.md's example of %s, %q: %s", key.Name, row.example, fault)
	}
}

func TestReadmeHasEveryKeyOutsideTheStages(t *testing.T) {
	readme := foldertest.Text(t, "../../README.md")
	top := readmeKeys(t, readme, "### The top of the file")
	output := readmeKeys(t, readme, "### `[output]`")
	audibility := readmeKeys(t, readme, "### `[audibility]`")
	coder := readmeKeys(t, readme, "### `[[delivery.coder]]`")
	for _, c := range []struct {
		rows map[string]readmeRow
		keys []string
	}{
		{top, []string{"title", "sources", "ceiling_dbfs", "continuous", "order", "gaps_s", "chunks", "inherit"}},
		{output, outputKeys},
		{
			readmeKeys(t, readme, "### `[tags]` and `[track.\"NAME\".tags]`"),
			append(slices.Clone(tagKeys), trackTagKeys...),
		},
		{audibility, audibilityKeys},
		{readmeKeys(t, readme, "### `[survey]`"), surveyKeys},
		{readmeKeys(t, readme, "### `[[stage]]`"), []string{"kind", "name"}},
		{readmeKeys(t, readme, "### `[[delivery]]`"), deliveryKeys},
		{coder, coderKeys},
	} {
		for _, key := range c.keys {
			if _, ok := c.rows[key]; !ok {
				t.Errorf("README.md has no row for %s", key)
			}
		}
		if len(c.rows) != len(c.keys) {
			t.Errorf("README.md has %d rows for %q", len(c.rows), c.keys)
		}
	}
	defaults := (&checker{}).check(&node{})
	ceiling := releaseCeiling
	ceiling.Default = defaults.ceiling
	checkRow(t, top, ceiling)
	checkRow(t, top, chunksKey)
	checkRow(t, audibility, playbackLevel)
	checkRow(t, coder, coderPeakKey)
	checkRow(t, coder, coderTimeKey)
	encoding := encodingKey
	encoding.Default = string(defaults.output.Encoding)
	checkRow(t, output, encoding)
	if got, want := output["folder"].byDefault,
		"`"+strconv.Quote(defaults.output.FolderAsWritten)+"`"; got != want {
		t.Errorf("README.md says of folder by default %s, want %s", got, want)
	}
}

// What README shows as TOML is a release file, or can stand in the example's.
func TestReadmeShowsReleaseFilesThatAreRight(t *testing.T) {
	readme, example := foldertest.Text(t, "../../README.md"), foldertest.Text(t, exampleRelease)
	blocks := strings.Split(readme, "\n```toml\n")[1:]
	if len(blocks) == 0 {
		t.Fatal("README.md shows no TOML")
	}
	for _, b := range blocks {
		b, _, _ = strings.Cut(b, "\n```")
		text := b
		if !slices.Contains(strings.Fields(b), "sources") {
			text = example + "\n" + b + "\n"
		}
		if strings.HasPrefix(b, "[output]") {
			head, rest, _ := strings.Cut(example, "[output]")
			_, rest, _ = strings.Cut(rest, "[[stage]]")
			text = head + b + "\n[[stage]]" + rest
		}
		inherits := strings.HasPrefix(b, "inherit")
		if inherits {
			text = b
		}
		c := &checker{file: "README.md"}
		if root := c.parse([]byte(text)); root != nil {
			if inherits { // from the example
				root.drop("inherit")
				root.over(c.parse([]byte(example)))
			}
			c.check(root)
		}
		if len(c.problems) > 0 {
			t.Errorf("%v\nin\n%s", c.problems, b)
		}
	}
}
