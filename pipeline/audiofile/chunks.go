package audiofile

import (
	"slices"
	"strings"
)

// plumbing are the chunks that say how the audio is stored, what can be found from the
// audio again, or nothing.
var plumbing = [][4]byte{
	{'f', 'm', 't', ' '}, {'d', 'a', 't', 'a'}, {'d', 's', '6', '4'}, {'f', 'a', 'c', 't'}, {'P', 'E', 'A', 'K'},
	{'J', 'U', 'N', 'K'}, {'j', 'u', 'n', 'k'}, {'P', 'A', 'D', ' '}, {'F', 'L', 'L', 'R'}, {'f', 'i', 'l', 'r'},
}

// mostNamed bounds how many chunks of a file are named.
const mostNamed = 32

// Chunks are the names of the file's chunks that say something beside the audio,
// such as "bext" or "cue", each once and in the order of the file; of a file that
// has more, the first 32.
func (r *Reader) Chunks() []string {
	var names []string
	for _, id := range r.at.beside {
		names = append(names, strings.TrimSpace(string(id[:])))
	}
	return names
}

// note records a chunk that the walk skips.
func (s *scanner) note(c chunk) {
	if len(s.beside) < mostNamed && !slices.Contains(plumbing, c.id) && !slices.Contains(s.beside, c.id) {
		s.beside = append(s.beside, c.id)
	}
}
