package audiofile

import (
	"slices"
	"strings"
)

// plumbing are the chunks that say how the audio is stored, what can be told
// from it again, or nothing.
var plumbing = []string{"fmt ", "data", "ds64", "fact", "PEAK", "JUNK", "junk", "PAD ", "FLLR", "filr"}

// Chunks are the names of the file's chunks that say something beside the audio,
// such as "bext" or "cue", each once and in the order of the file.
func (r *Reader) Chunks() []string { return r.at.chunks }

// pass books a chunk that the walk comes by.
func (s *scanner) pass(c chunk) {
	if name := string(c.id[:]); !slices.Contains(plumbing, name) && !s.passed[name] {
		if s.passed == nil {
			s.passed = map[string]bool{}
		}
		s.passed[name] = true
		s.chunks = append(s.chunks, strings.TrimSpace(name))
	}
}
