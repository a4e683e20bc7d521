package track

import (
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// late is a stage that holds everything back until it has a second batch's
// worth, and changes nothing.
type late struct {
	held stages.Block
	by   int
}

func (l *late) Process(dst, in stages.Block) stages.Block {
	l.held = l.held.Append(in)
	n := max(0, l.held.Frames()-l.by)
	dst = dst.Append(l.held.Slice(0, n))
	for c := range l.held {
		l.held[c] = append(l.held[c][:0], l.held[c][n:]...)
	}
	return dst
}

func (l *late) Flush(dst stages.Block) stages.Block { return dst.Append(l.held) }

func (l *late) Effect() stages.Effect { return stages.Effect{} }

// Frames that a stage holds back line up again with those it was fed.
func TestRemovedLinesUpWithAStageThatHoldsBack(t *testing.T) {
	for _, by := range []int{1, 100, 1000, 2999, 3000, 9000} {
		w := &keeping{}
		p, err := New(&Input{AudioFile: &scripted{b: stages.Block{ramp(3000)}}}, nil, Options{Frames: 256})
		if err != nil {
			t.Fatal(err)
		}
		p.chain = []stages.Use{{}}
		p.links = []link{{"late", []stages.Stage{&late{held: stages.NewBlock(1, 0), by: by}}}}
		p.To, p.Removed = &keeping{}, NewRemoved(nil, 1, w)
		p.whole = p.newRemoval([]stages.Use{{}}, 0, 1, 1)
		space := &workspace{}
		if err := p.lanes(space.fit(3, 2, 1), oneToken()).run(t.Context()); err != nil {
			t.Fatal(err)
		}
		if n := len(w.got); n != 3000 {
			t.Fatalf("held back by %d: %d frames of 3000", by, n)
		}
		for i, x := range w.got {
			if x != 0 {
				t.Fatalf("held back by %d: frame %d: %v removed by a stage that changes nothing", by, i, x)
			}
		}
	}
}

func ramp(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = float64(i + 1)
	}
	return x
}

// scripted is a source of given samples, keeping a sink that keeps what it is given.
type scripted struct {
	AudioFile
	b  stages.Block
	at int
}

func (s *scripted) Info() audiofile.Info {
	return audiofile.Info{
		Rate: 48000, Channels: len(s.b), Frames: int64(s.b.Frames()), Encoding: audiofile.Float64,
	}
}

func (s *scripted) Read(dst stages.Block) (int, error) {
	n := 0
	for c := range dst {
		n = copy(dst[c], s.b[c][s.at:])
	}
	s.at += n
	return n, nil
}

type keeping struct {
	Sink
	got []float64
}

func (k *keeping) Write(b stages.Block) error {
	k.got = append(k.got, b[0]...)
	return nil
}
