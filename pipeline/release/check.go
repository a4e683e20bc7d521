package release

import (
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// draft is what a release file says: checked key by key, its mixes not yet
// found and its chains not yet resolved.
type draft struct {
	title      string
	ceiling    float64
	output     Output
	audibility Audibility
	survey     Survey
	folderLine int // where the output's folder is given, or [output], or the top
	formLine   int // the same of the encoding
	sources    []pattern
	stages     []stageDraft
	tracks     []override
	variants   []override
	tags       audiofile.Tags
	keepChunks bool       // those of the mixes are carried over
	continuous continuous // which tracks run into each other
	order      order      // in which they follow each other
	deliveries []deliveryDraft
}

// pattern is one of the sources.
type pattern struct {
	text string // as written
	line int
}

// checker collects the problems of one release file.
type checker struct {
	file      string // as the caller gave it
	folder    string // the absolute folder that it is in
	house     string // the file that it inherits from, as messages name it; empty: none
	housePath string // the same, absolute
	problems  Problems
}

func newChecker(path string) (*checker, error) {
	absolute, err := filepath.Abs(path)
	return &checker{file: path, folder: filepath.Dir(absolute)}, err
}

func (c *checker) add(line int, format string, args ...any) {
	p := c.problem(line, fmt.Sprintf(format, args...))
	for _, a := range args {
		if err, ok := a.(error); ok {
			p.cause = err
		}
	}
	c.problems = append(c.problems, p)
}

// The keys of a release file outside its stages.
var (
	topKeys = []string{
		"title", "sources", "ceiling_dbfs", "continuous", "order", "gaps_s", "chunks", "output", "tags",
		"audibility", "survey", "stage", "track", "variant", "delivery", "inherit",
	}
	outputKeys = []string{"folder", "encoding", "match_loudness", "removed", "page"}
)

var releaseCeiling = stages.Key{Name: "ceiling_dbfs", Type: stages.Number, Min: -60, Max: 0, Unit: "dBFS"}

// encodingKey has the words of the encodings that can be written.
var encodingKey = func() stages.Key {
	k := stages.Key{Name: "encoding", Type: stages.Word}
	for _, e := range audiofile.OutputEncodings() {
		k.Words = append(k.Words, string(e))
	}
	return k
}()

// chunksKey is what becomes of the mixes' own chunks.
var chunksKey = stages.Key{
	Name: "chunks", Type: stages.Word, Words: []string{"drop", "keep"}, Default: "drop",
}

// check checks a whole file by itself. Where something is wrong the draft holds the rest.
func (c *checker) check(root *node) *draft {
	d := &draft{
		output:     Output{FolderAsWritten: "masters", Encoding: audiofile.PCM24, Page: true},
		folderLine: root.line, formLine: root.line,
	}
	for _, key := range root.keys {
		if !slices.Contains(topKeys, key) {
			c.unknown(root.table[key].line, "unknown key ", key, topKeys)
		}
	}
	if n := root.table["title"]; n != nil {
		d.title = c.shortName("", n)
	}
	if n := root.table["ceiling_dbfs"]; n != nil {
		if v, ok := c.setting("", releaseCeiling, n); ok {
			d.ceiling = v.(float64)
		}
	}
	d.sources = c.sources(root)
	d.continuous = c.continuous(root.table["continuous"])
	d.order = c.order(root)
	if n := root.table["chunks"]; n != nil {
		v, ok := c.setting("", chunksKey, n)
		d.keepChunks = ok && v == "keep"
	}
	d.tags = c.tags("[tags] ", root.table[tagsName], tagKeys)
	if n := root.table["output"]; n != nil && c.isTable(n, "a table [output]") {
		c.output(d, n)
	}
	d.audibility = c.audibility(root.table["audibility"])
	d.survey = c.survey(root.table["survey"])
	if c.bounded(root) {
		d.stages = c.stages(root.table["stage"])
		d.variants = c.variants(root.table["variant"], d.stages)
		d.tracks = c.tracks(root.table["track"], d)
		c.addends(d)
		c.measurable(d)
		d.deliveries = c.deliveries(root.table["delivery"], d)
	}
	return d
}

// unknown reports a key that does not belong where it is: where it does
// belong, or the nearest of the keys that do belong here.
func (c *checker) unknown(line int, lead, key string, own []string) {
	text := fmt.Sprintf("%s%q", lead, key)
	if home := homeOf(key); home != "" {
		c.add(line, "%s; it belongs %s", text, home)
	} else if near := intended(key, own); near != "" {
		c.add(line, "%s; did you mean %q?", text, near)
	} else {
		c.add(line, "%s; want %s", text, enumerate(own, "or"))
	}
}

// intended is the key, of those that belong where an unknown one is, that
// it was probably meant to be. It is empty where none is near, and of a key
// that belongs elsewhere.
func intended(key string, own []string) string {
	if slices.Contains(own, key) || homeOf(key) != "" {
		return ""
	}
	near, _ := Nearest(key, own)
	return near
}

// misspelt reports whether one of the keys that are given was probably meant to
// be the key name. Then it is reported as unknown, and name not as missing.
func misspelt(name string, given, own []string) bool {
	return slices.ContainsFunc(given, func(key string) bool { return intended(key, own) == name })
}

// homeOf says where a key belongs: to which kinds of stage, under [output], or
// at the top. It is empty for a key that no part of a release file has.
func homeOf(key string) string {
	var homes []string
	if kinds := kindsWith(key); len(kinds) > 0 {
		homes = append(homes, "to a stage of kind "+enumerate(kinds, "or"))
	}
	if slices.Contains(outputKeys, key) {
		homes = append(homes, "under [output]")
	}
	if slices.Contains(audibilityKeys, key) {
		homes = append(homes, "under [audibility]")
	}
	if slices.Contains([]string{"container", "sums", "sheet", "cue", "disc_frames"}, key) {
		homes = append(homes, "in a [[delivery]]")
	}
	if slices.Contains([]string{"encode", "decode", "solve", "time_limit_s"}, key) {
		homes = append(homes, "in a [[delivery.coder]]")
	}
	if slices.Contains(tagKeys, key) {
		homes = append(homes, "under [tags]")
	}
	if slices.Contains(trackTagKeys, key) {
		homes = append(homes, `under [track."NAME".tags]`)
	}
	if slices.Contains([]string{"inherit", "title", "sources", "ceiling_dbfs", "continuous", "order", "gaps_s",
		"chunks"}, key) {
		homes = append(homes, "at the top of the file, before the first table")
	}
	return strings.Join(homes, ", or ")
}

// kindsWith are the kinds of stage that have a key.
func kindsWith(key string) (names []string) {
	for _, k := range stages.Kinds() {
		if _, ok := k.Key(key); ok {
			names = append(names, k.Name)
		}
	}
	return names
}

// setting is the value of a key, as settings hold it.
func (c *checker) setting(label string, key stages.Key, n *node) (any, bool) {
	v, fault := fit(key, n.data())
	if fault != "" {
		c.add(n.line, "%s%s %s", label, n.text, fault)
	}
	return v, fault == ""
}

// mistyped reports a value of the wrong type.
func (c *checker) mistyped(label string, n *node, want string) {
	c.add(n.line, "%s%s %s", label, n.text, mistyped(n.data(), want))
}

// isTable reports what is not a table.
func (c *checker) isTable(n *node, want string) bool {
	if n.table == nil {
		c.mistyped("", n, want)
	}
	return n.table != nil
}

// name is a string that will be shown, or empty where it cannot be.
func (c *checker) name(label string, n *node) string {
	s, ok := n.value.(string)
	switch {
	case !ok:
		c.mistyped(label, n, "a string in quotes")
	case s == "":
		c.add(n.line, "%s%s is empty; leave the key out or give it a text", label, n.text)
	case !printable(s):
		c.add(n.line, "%s%s has control characters; want plain text", label, n.text)
		return ""
	}
	return s
}

// sources are the patterns of the mixes.
func (c *checker) sources(root *node) (patterns []pattern) {
	n := root.table["sources"]
	const want = `a list of files, such as ["mixes/*.wav"]`
	switch {
	case n == nil && misspelt("sources", root.keys, topKeys):
		return nil
	case n == nil:
		c.add(1, "sources is missing; want %s at the top of the file", want)
		return nil
	case n.list == nil:
		c.mistyped("", n, want)
		return nil
	case len(n.list) == 0:
		c.add(n.line, "%s names nothing; want %s", n.text, want)
	}
	for _, e := range n.list {
		if s, ok := e.value.(string); !ok {
			c.mistyped("sources: ", e, `a file or a pattern in quotes, such as "mixes/*.wav"`)
		} else if c.pattern(e, s) {
			patterns = append(patterns, pattern{text: s, line: e.line})
		}
	}
	return patterns
}

// pattern checks one of the sources.
func (c *checker) pattern(n *node, s string) bool {
	_, err := filepath.Match(s, "")
	switch {
	case s == "" || !printable(s):
		c.add(n.line, `sources: %s is no file name; want a file or a pattern, such as "mixes/*.wav"`, n.text)
	case strings.Contains(s, "**"):
		c.add(n.line, "sources: %s: ** does not match folders of any depth; name each level, such as %q", n.text,
			"mixes/*/*.wav")
	case err != nil:
		c.add(n.line, `sources: %s is no pattern; want * and ? for any text and letter, and [abc] closed (a real `+
			`[ is written [[])`, n.text)
	default:
		return c.shortPath("sources: ", n, s)
	}
	return false
}

// output checks the table [output].
func (c *checker) output(d *draft, n *node) {
	d.folderLine, d.formLine = n.line, n.line
	for _, key := range n.keys {
		v := n.table[key]
		switch key {
		case "folder":
			d.folderLine = v.line
			if s := c.name("[output] ", v); s != "" && c.shortPath("[output] ", v, s) {
				d.output.FolderAsWritten = path.Clean(filepath.ToSlash(s))
			}
		case "encoding":
			d.formLine = v.line
			if e, ok := c.setting("[output] ", encodingKey, v); ok {
				d.output.Encoding = audiofile.Encoding(e.(string))
			}
		case "match_loudness":
			d.output.MatchLoudness = c.truth("[output] ", v)
		case "removed":
			d.output.Removed = c.truth("[output] ", v)
		case "page":
			d.output.Page = c.truth("[output] ", v)
		default:
			c.unknown(v.line, "[output] has no key ", key, outputKeys)
		}
	}
}

// truth is a value that is true or false.
func (c *checker) truth(label string, n *node) bool {
	v, ok := n.value.(bool)
	if !ok {
		c.mistyped(label, n, "true or false")
	}
	return v
}
