package stages

import "ledgerline/stages/kernel"

var hardClipKind = Kind{
	Name: "hard_clip",
	Doc: "Samples within the ceiling, or its knee, pass bit for bit; those beyond it become the ceiling " +
		"with their sign.",
	Keys: []Key{ceilingKey, kneeKey, linkKey},
	Cuts: true, Clean: cleanClip,
	New: func(f Format, s Settings) (Stage, error) {
		knee := s.knee()
		bent := func(linked bool) Stage {
			b := &bentSamples{knee, linked, make([]tally, f.Channels)}
			tellApart(b.effects, f.Ends)
			return b
		}
		switch {
		case s.Linked() && f.Channels > 1:
			return &compared{Stage: bent(true), apart: bent(false)}, nil
		case knee.bend > 0:
			return bent(false), nil
		}
		return Kind{Mono: newHardClip}.make(f, s)
	},
}

// PlainClamp is a hard clip of that name without a knee or a link, at a ceiling in dBFS of -60 to 0.
func PlainClamp(name string, ceilingDBFS float64) Use {
	u := Use{Name: name, Kind: hardClipKind.Name, Settings: Settings{ceilingKey.Name: ceilingDBFS}}
	hardClipKind.Fill(u.Settings)
	return u
}

// hardClip limits each sample by itself. An infinite sample becomes the
// ceiling, one that is not a number stays as it is.
type hardClip struct {
	ceiling float64
	book    clampBook
}

// A clampBook books what was taken off one channel. The squares are summed in eight lanes,
// and frame n of the track goes to lane n%8, so that block lengths do not change the sum.
type clampBook struct {
	lane    int // of the next frame
	touched int64
	top     float64 // the largest magnitude that was clamped
	squares [8]float64
}

func newHardClip(_ Format, s Settings) (Mono, error) {
	c, _ := s.Ceiling()
	return &hardClip{ceiling: c}, nil
}

func (h *hardClip) Process(dst, src []float64) {
	copy(dst, src)
	h.book.clamp(dst, h.ceiling)
}

func (h *hardClip) Effect() Effect {
	b := &h.book
	return Effect{Touched: b.touched, Cut: b.top / h.ceiling, Removed: kernel.Lanes(&b.squares)}
}

// clamp brings every sample of x within the ceiling and books what it took. The kernel adds
// to lane 0 first, so the lanes are turned to where the track is, and back.
func (b *clampBook) clamp(x []float64, ceiling float64) {
	squares := turned(&b.squares, b.lane)
	touched, top := kernel.Clamp(x, ceiling, &squares)
	b.squares = turned(&squares, 8-b.lane)
	b.touched += int64(touched)
	b.top = max(b.top, top)
	b.lane = (b.lane + len(x)) % 8
}

// turned is eight lanes from the given one on, then those before it.
func turned(lanes *[8]float64, first int) (turned [8]float64) {
	for i := range turned {
		turned[i] = lanes[(first+i)%8]
	}
	return turned
}
