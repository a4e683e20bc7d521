package whole

import (
	"io/fs"
	"os"
)

// ID tells files apart where a system gives them numbers.
type ID [2]uint64

// Files finds files by what they are, under whatever name or link.
type Files struct {
	infos   []fs.FileInfo
	known   map[ID]int
	unknown []int // those without an ID
}

// Add adds a file, as os.Stat describes it. Files are counted from 0.
func (f *Files) Add(info fs.FileInfo) {
	n := len(f.infos)
	f.infos = append(f.infos, info)
	id, ok := identity(info)
	if !ok {
		f.unknown = append(f.unknown, n)
		return
	}
	if f.known == nil {
		f.known = map[ID]int{}
	}
	if _, twice := f.known[id]; !twice {
		f.known[id] = n
	}
}

// Find is the number of the first file added that is the described one; -1: none is.
func (f *Files) Find(info fs.FileInfo) int {
	if id, ok := identity(info); ok {
		if n, found := f.known[id]; found {
			return n
		}
	}
	for _, n := range f.unknown {
		if os.SameFile(f.infos[n], info) {
			return n
		}
	}
	return -1
}
