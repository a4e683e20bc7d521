package audiofile

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Chunk is a chunk of a WAV file that is carried over from a mix to what is made of it.
type Chunk struct {
	ID   string // four characters
	Data []byte
}

// carried are the chunks that can be: what others say, where, of the same audio.
var carried = []string{"bext", "cue ", "LIST", "iXML"}

// mostCarried bounds a chunk that is carried over, and how many are.
const (
	mostCarriedBytes = 16 << 20
	mostCarried      = 64
)

// Carries says whether a chunk, by its name as Reader.Chunks has it, is one of those that Carried reads.
func Carries(name string) bool {
	return slices.ContainsFunc(carried, func(id string) bool { return strings.TrimSpace(id) == name })
}

// Carried reads the chunks that can be carried over to a file of the given rate, Hz: broadcast data, markers
// and their labels, texts, iXML. At another rate markers move with the audio, and iXML, which tells of the
// rate in ways of its own, is left out. So it is of a file that begins so many frames of that rate earlier. A
// file that is no WAV has none.
func (r *Reader) Carried(rate int, earlier int64) (all []Chunk, err error) {
	for _, c := range r.at.carried {
		if c.size > mostCarriedBytes {
			return nil,
				of(r.path,
					c.fault(ErrUnsupported, "%d bytes to carry over, want %d at most; leave it out with chunks = \"drop\"",
						c.size, mostCarriedBytes))
		}
		data := make([]byte, c.size)
		if err := readAt(r.file, data, c.body); err != nil {
			return nil, of(r.path, err)
		}
		k := Chunk{string(c.id[:]), data}
		if rate != r.at.info.Rate && !k.move(float64(rate)/float64(r.at.info.Rate)) ||
			earlier > 0 && !k.begin(earlier) {
			continue
		}
		all = append(all, k)
	}
	return all, nil
}

// move makes the moments in a chunk those of the same audio with so many times the frames. It is false where
// that cannot be done.
func (c Chunk) move(times float64) bool {
	switch c.ID {
	case "iXML":
		return false
	case "bext":
		if len(c.Data) < bextVersionAt {
			return true
		}
		le := binary.LittleEndian
		at := le.Uint64(c.Data[bextTimeRefAt:])
		le.PutUint64(c.Data[bextTimeRefAt:], uint64(math.Round(float64(float64(at)*times))))
	case "cue ":
		for p := c.Data[min(4, len(c.Data)):]; len(p) >= 24; p = p[24:] {
			moveMoment(p[4:], times)
			moveMoment(p[20:], times)
		}
	case "LIST":
		if len(c.Data) < 4 || string(c.Data[:4]) != "adtl" {
			return true
		}
		for p := c.Data[4:]; len(p) >= 8; {
			size := int64(binary.LittleEndian.Uint32(p[4:]))
			if string(p[:4]) == "ltxt" && len(p) >= 16 {
				moveMoment(p[12:], times) // how long it goes on
			}
			p = p[min(int64(len(p)), 8+size+size%2):]
		}
	}
	return true
}

// begin makes the moments in a chunk those of a file that begins so many frames earlier. It is false where
// that cannot be done.
func (c Chunk) begin(earlier int64) bool {
	le := binary.LittleEndian
	switch c.ID {
	case "iXML":
		return false
	case "bext":
		if len(c.Data) >= bextVersionAt {
			at := le.Uint64(c.Data[bextTimeRefAt:])
			le.PutUint64(c.Data[bextTimeRefAt:], at-min(at, uint64(earlier)))
		}
	case "cue ":
		for p := c.Data[min(4, len(c.Data)):]; len(p) >= 24; p = p[24:] {
			for _, at := range []int{4, 20} {
				le.PutUint32(p[at:], uint32(min(int64(le.Uint32(p[at:]))+earlier, math.MaxUint32)))
			}
		}
	}
	return true
}

// moveMoment moves a number of frames.
func moveMoment(p []byte, times float64) {
	le := binary.LittleEndian
	le.PutUint32(p, uint32(min(math.Round(float64(float64(le.Uint32(p))*times)), math.MaxUint32)))
}

// carry notes a chunk that can be carried over.
func (s *scanner) carry(c chunk) {
	if slices.Contains(carried, string(c.id[:])) && len(s.carried) < mostCarried {
		s.carried = append(s.carried, c)
	}
}

// chunksOf are the chunks of a WAV file beside its audio, with that of the broadcast data first.
func (b Beside) chunksOf() ([]byte, error) {
	var own []byte
	var p []byte
	info := b.Tags.info()
	for _, c := range b.Chunks {
		switch {
		case c.ID == "bext":
			own = c.Data
		case c.ID == "LIST" && len(info) > 0 && len(c.Data) >= 4 && string(c.Data[:4]) == "INFO":
			// The tags say it anew.
		default:
			p = appendChunk(p, c.ID, c.Data)
		}
	}
	if len(info) > 0 {
		p = append(appendChunk(nil, "LIST", info), p...)
	}
	if b.bext() {
		p = append(appendChunk(nil, "bext", newBext(b.Tags, own, b.History)), p...)
	}
	if len(p) > math.MaxInt32 {
		return nil, fmt.Errorf("%d bytes beside the audio, want %d at most", len(p), math.MaxInt32)
	}
	return p, nil
}

// bext says whether a WAV file gets a bext chunk.
func (b Beside) bext() bool {
	return b.Tags != (Tags{}) || slices.ContainsFunc(b.Chunks, func(c Chunk) bool { return c.ID == "bext" })
}
