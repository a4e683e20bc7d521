package release

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
)

// inHouse marks the line of a node as one of the file that a release inherits from. No release file has so
// many lines.
const inHouse = 1 << 24

// problem is a problem at a line, of the release file or of the one that it inherits from.
func (c *checker) problem(line int, text string) Problem {
	if line&inHouse != 0 {
		return Problem{File: c.house, Line: line &^ inHouse, Text: text, house: true}
	}
	return Problem{File: c.file, Line: line, Text: text}
}

// tree is the tree of a release file's text, laid over that of the file that it inherits from, if there is
// one; nil where either cannot be read.
func (c *checker) tree(text []byte) *node {
	root := c.parse(text)
	if root == nil || root.table["inherit"] == nil {
		return root
	}
	house := c.inherited(root.table["inherit"])
	if house == nil {
		return nil
	}
	root.drop("inherit")
	root.over(house)
	return root
}

// inherited is the tree of the file that a release file inherits from; nil where it cannot be read. One that
// is inherited from inherits nothing itself, so that there is one place to look, and no loop.
func (c *checker) inherited(n *node) *node {
	name := c.name("", n)
	if name == "" {
		return nil
	}
	c.house = filepath.FromSlash(name)
	c.housePath = c.house
	if !filepath.IsAbs(c.house) {
		c.house, c.housePath = filepath.Join(filepath.Dir(c.file), c.house), filepath.Join(c.folder, c.house)
	}
	text, err := read(c.housePath)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		c.add(n.line, "%s: there is no file %q", n.text, c.house)
		return nil
	case err != nil:
		c.add(n.line, "%s: %v", n.text, err)
		return nil
	}
	in := &checker{file: c.house}
	house := in.parse(text)
	for _, p := range in.problems {
		p.house = true
		c.problems = append(c.problems, p)
	}
	if house == nil {
		return nil
	}
	house.mark()
	if again := house.table["inherit"]; again != nil {
		c.add(again.line, "%s: a file that is inherited from inherits nothing itself; want its keys here",
			again.text)
		return nil
	}
	return house
}

// mark marks the lines of a tree as the house's.
func (n *node) mark() {
	n.line |= inHouse
	for _, c := range n.table {
		c.mark()
	}
	for _, c := range n.list {
		c.mark()
	}
}

func (n *node) drop(key string) {
	delete(n.table, key)
	n.keys = slices.DeleteFunc(n.keys, func(k string) bool { return k == key })
}

// over adds to a table what the house's has besides. Tables become one, key by key; stages and deliveries go
// by their names; anything else is what the release says.
func (n *node) over(house *node) {
	var keys []string
	for _, key := range house.keys {
		keys = append(keys, key)
		own, theirs := n.table[key], house.table[key]
		switch {
		case own == nil:
			if n.table == nil {
				n.table = map[string]*node{}
			}
			n.table[key] = theirs
		case own.table != nil && theirs.table != nil:
			own.over(theirs)
		case (key == "stage" || key == "delivery") && own.tables() && theirs.tables():
			own.list = overNamed(own.list, theirs.list, key == "stage")
		}
	}
	for _, key := range n.keys {
		if house.table[key] == nil {
			keys = append(keys, key)
		}
	}
	n.keys = keys
}

// tables says whether a node is repeated tables.
func (n *node) tables() bool {
	return len(n.list) > 0 && !slices.ContainsFunc(n.list, func(e *node) bool { return e.table == nil })
}

// overNamed are the house's tables, each with what the release's of the same name says, and after them the
// release's others. A stage of another kind is another stage, in the same place.
func overNamed(own, house []*node, stages bool) []*node {
	ownNames, houseNames := tableNames(own, stages), tableNames(house, stages)
	all := slices.Clone(house)
	for i, t := range own {
		at := slices.Index(houseNames, ownNames[i])
		if at < 0 || ownNames[i] == "" {
			all = append(all, t)
			continue
		}
		if kind := t.table["kind"]; !stages || kind == nil || house[at].table["kind"] == nil ||
			kind.value == house[at].table["kind"].value {
			t.over(house[at])
		}
		all[at] = t
	}
	return all
}

// tableNames are the names of tables; those of stages are as nameStages gives them.
func tableNames(tables []*node, stages bool) []string {
	names := make([]string, len(tables))
	used, given := map[string]int{}, map[string]int{}
	for i, t := range tables {
		if n := t.table["name"]; n != nil {
			names[i] = fmt.Sprint(n.value)
			used[names[i]] = n.line
		}
	}
	for i, t := range tables {
		if stages && names[i] == "" {
			kind := ""
			if n := t.table["kind"]; n != nil {
				kind, _ = n.value.(string)
			}
			names[i] = freeName(likelyKind(t, kind), given, used)
			used[names[i]] = t.line
		}
	}
	return names
}
