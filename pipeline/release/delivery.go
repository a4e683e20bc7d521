package release

import (
	"fmt"
	"slices"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// mostDeliveries is how many deliveries a release may have.
const mostDeliveries = 100

// deliveryDraft is a [[delivery]] as written.
type deliveryDraft struct {
	name  string // empty where the file gives none that can be one
	label string // as messages begin: `delivery "disc": `
	line  int
	// the stage after which it begins, "source" for none; empty: the last that makes the programme
	from      string
	fromLine  int
	variant   string // empty: the release's own chain
	varLine   int
	container audiofile.Container
	encoding  audiofile.Encoding
	formLine  int // where the encoding is given, or the delivery
	sums      bool
	sheet     bool
	cue       bool
	cueLine   int
	discAt    string // where disc_frames = true is, as messages name it; empty: it is not
	discLine  int
	stages    []stageDraft
	coders    []coderDraft
}

// deliveryKeys are the keys of a [[delivery]].
var deliveryKeys = []string{
	"name", "from", "variant", "container", "encoding", "sums", "sheet", "cue", "disc_frames", "stage", "coder",
}

// sumsKey is how the sums of a delivery's files are made.
var sumsKey = stages.Key{Name: "sums", Type: stages.Word, Words: []string{"sha256"}}

// containerKey has the words of the containers that can be written.
var containerKey = func() stages.Key {
	k := stages.Key{Name: "container", Type: stages.Word}
	for _, c := range audiofile.Containers() {
		k.Words = append(k.Words, string(c))
	}
	return k
}()

// deliveries checks the tables [[delivery]] of a draft whose stages and variants are checked.
func (c *checker) deliveries(n *node, d *draft) (all []deliveryDraft) {
	const want = "a table [[delivery]] for each delivery"
	switch {
	case n == nil:
		return nil
	case n.table != nil:
		c.add(n.line, "%s is a single table; write [[delivery]], in double brackets, for each delivery", n.text)
		return nil
	case n.list == nil:
		c.mistyped("", n, want)
		return nil
	case len(n.list) > mostDeliveries:
		c.add(n.list[mostDeliveries].line, "%d deliveries; want at most %d", len(n.list), mostDeliveries)
		return nil
	}
	folders := map[string]deliveryDraft{}
	for i, t := range n.list {
		if !c.isTable(t, want) {
			continue
		}
		x := c.delivery(i, t, d)
		c.deliveryFolder(x, folders, d)
		all = append(all, x)
	}
	slices.SortStableFunc(all, func(a, b deliveryDraft) int { return strings.Compare(a.name, b.name) })
	return all
}

// delivery checks one table.
func (c *checker) delivery(i int, t *node, d *draft) deliveryDraft {
	x := deliveryDraft{
		label: fmt.Sprintf("delivery %d: ", i+1), line: t.line, formLine: t.line,
		container: audiofile.Containers()[0], encoding: d.output.Encoding,
	}
	if n := t.table["name"]; n != nil {
		x.name, x.line = c.shortName(x.label, n), n.line
	} else if !misspelt("name", t.keys, deliveryKeys) {
		c.add(t.line, "%sname is missing; want that of its folder, such as name = \"disc\"", x.label)
	}
	if x.name != "" {
		x.label = fmt.Sprintf("delivery %q: ", x.name)
	}
	for _, key := range t.keys {
		c.deliveryKey(&x, key, t.table[key])
	}
	c.fromIn(&x, d)
	c.variantOf(&x, d)
	if !x.container.Holds(x.encoding) {
		c.add(x.formLine, "%sa %s file cannot hold %s; want %s", x.label, x.container, x.encoding,
			enumerate(held(x.container), "or"))
	}
	if x.discAt != "" && x.encoding != audiofile.PCM16 {
		c.add(x.discLine, "%sdisc_frames = true is for files of pcm16, and its encoding is %s; want "+
			"encoding = \"pcm16\"", x.label, x.encoding)
	}
	x.stages = c.ownStages(x, t.table["stage"], d)
	c.coders(&x, t.table["coder"])
	return x
}

// deliveryKey takes one key of a table, unless another place does.
func (c *checker) deliveryKey(x *deliveryDraft, key string, n *node) {
	switch key {
	case "name", "stage", "coder":
	case "from":
		x.from, x.fromLine = c.shortName(x.label, n), n.line
	case "variant":
		x.variant, x.varLine = c.shortName(x.label, n), n.line
	case "container":
		if v, ok := c.setting(x.label, containerKey, n); ok {
			x.container = audiofile.Container(v.(string))
		}
	case "encoding":
		x.formLine = n.line
		if v, ok := c.setting(x.label, encodingKey, n); ok {
			x.encoding = audiofile.Encoding(v.(string))
		}
	case "sums":
		_, x.sums = c.setting(x.label, sumsKey, n)
	case "sheet":
		x.sheet = c.truth(x.label, n)
	case "cue":
		x.cue, x.cueLine = c.truth(x.label, n), n.line
	case "disc_frames":
		if x.discLine = n.line; c.truth(x.label, n) {
			x.discAt = c.at(n.line)
		}
	default:
		c.unknown(n.line, x.label+"a delivery has no key ", key, deliveryKeys)
	}
}

// held are the encodings that a container can hold, in quotes.
func held(container audiofile.Container) (names []string) {
	for _, e := range audiofile.OutputEncodings() {
		if container.Holds(e) {
			names = append(names, fmt.Sprintf("%q", e))
		}
	}
	return names
}

// fromIn checks that a delivery begins after a stage of the release.
func (c *checker) fromIn(x *deliveryDraft, d *draft) {
	known := append([]string{sourceName}, stageNames(d.stages)...)
	if x.from != "" && !slices.Contains(known, x.from) {
		c.add(x.fromLine, "%sfrom: no stage is named %q%s", x.label, x.from, meantOr(x.from, known))
		x.from = ""
	}
}

// variantOf checks that a delivery is made of a variant of the release.
func (c *checker) variantOf(x *deliveryDraft, d *draft) {
	var known []string
	for _, v := range d.variants {
		known = append(known, v.name)
	}
	if x.variant == "" || slices.Contains(known, x.variant) {
		return
	}
	hint := meantOr(x.variant, known)
	if len(known) == 0 {
		hint = "; the release has none"
	}
	c.add(x.varLine, "%sno variant is named %q%s", x.label, x.variant, hint)
	x.variant = ""
}

// ownStages checks the stages that a delivery has of its own. They are named as the release's are,
// beside those that it begins with.
func (c *checker) ownStages(x deliveryDraft, n *node, d *draft) []stageDraft {
	if n == nil {
		return nil
	}
	tables := c.stageTables(n, "[[delivery.stage]]")
	if len(tables) > mostStages {
		c.add(tables[mostStages].line, "%sa chain of %d stages; want at most %d", x.label, len(tables), mostStages)
		return nil
	}
	return c.named(tables, d.stages[:x.shared(d.stages)], x.label)
}

// shared is how many of the release's stages a delivery may begin with: those up to the one it names, or
// all that make the programme.
func (x deliveryDraft) shared(chain []stageDraft) int {
	if x.from == sourceName {
		return 0
	}
	if x.from != "" {
		return 1 + slices.IndexFunc(chain, func(s stageDraft) bool { return s.name == x.from })
	}
	n := len(chain)
	for n > 0 && afterProgramme(chain[n-1].kind) {
		n--
	}
	return n
}

// afterProgramme says whether stages of a kind only read or round what the stages before them have made.
func afterProgramme(kind string) bool {
	k, _ := stages.KindNamed(kind)
	return k.Reads || k.Rounds != nil
}

// deliveryFolder checks that a delivery's folder can be one, and is nobody else's. Folders has those of the
// deliveries so far.
func (c *checker) deliveryFolder(x deliveryDraft, folders map[string]deliveryDraft, d *draft) {
	if x.name == "" {
		return
	}
	c.folderName(x.name, x.label, x.line)
	lower := strings.ToLower(x.name)
	if other, twice := folders[lower]; twice {
		c.add(x.line, "%sits folder is that of the delivery at line %d%s; give each a name of its own", x.label,
			other.line, capitals(x.name, other.name))
	}
	for _, v := range d.variants {
		if strings.ToLower(v.name) == lower {
			c.add(x.line, "%sits folder is that of [variant.%s]%s; want another name", x.label, key(v.name),
				capitals(x.name, v.name))
		}
	}
	folders[lower] = x
}

// capitals says that two names are one only where capitals do not count.
func capitals(a, b string) string {
	if a == b {
		return ""
	}
	return " where capitals do not count"
}
