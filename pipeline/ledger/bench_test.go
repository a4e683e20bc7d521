package ledger

import (
	"bytes"
	"fmt"
	"io"
	"testing"
)

// catalogue is the ledger of a catalogue: 500 tracks of five stages.
func catalogue() *Ledger {
	l := New("ledgerline 0.1.0", "Night Ferry", -1, "5e1f")
	for i := range 500 {
		l.Tracks = append(l.Tracks, render(fmt.Sprintf("%03d crossing", i), "", -1, chain(4, -18.31)))
	}
	l.Sum()
	return l
}

func BenchmarkParse(b *testing.B) {
	var text bytes.Buffer
	if err := catalogue().Encode(&text); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse(bytes.NewReader(text.Bytes()), "ledger.json"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEncode(b *testing.B) {
	l := catalogue()
	b.ReportAllocs()
	for b.Loop() {
		if err := l.Encode(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTables(b *testing.B) {
	l := catalogue()
	for b.Loop() {
		if err := (Printer{Out: io.Discard, Colour: true}).ledger(l); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCompare(b *testing.B) {
	old, new := catalogue(), catalogue()
	for b.Loop() {
		if c := Compare(old, new, DefaultToleranceDB); !c.Same() {
			b.Fatal("a ledger differs from itself")
		}
	}
}
