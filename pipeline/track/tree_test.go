package track

import (
	"encoding/json"
	"errors"
	"slices"
	"testing"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// textOf is an entry as the ledger has it.
func textOf(t *testing.T, entry *ledger.Track) string {
	t.Helper()
	text, err := json.MarshalIndent(entry, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func gainOf(db float64) stages.Use {
	return stages.Use{Name: "gain", Kind: "gain", Settings: stages.Settings{"gain_db": db}}
}

func clipTo(name string, db float64) stages.Use {
	use := stages.Use{Name: name, Kind: "hard_clip", Settings: stages.Settings{"ceiling_dbfs": db}}
	use.Of().Fill(use.Settings)
	return use
}

// treeChains branch off after the second stage, after the first, and at the mix; the last is another's
// beginning.
var treeChains = [][]stages.Use{
	{gainOf(3), clipTo("clip", -1), clipTo("again", -2)},
	{gainOf(3), clipTo("clip", -1), clipTo("deep", -6), clipTo("deeper", -7)},
	{gainOf(3), clipTo("other", -1)},
	{gainOf(4)},
	{gainOf(3), clipTo("clip", -1), clipTo("deep", -6)},
}

func treeMix() stages.Block {
	b := stages.Block{ramp(20000), ramp(20000)}
	for c := range b {
		for i := range b[c] {
			b[c][i] = float64((i*(7+c))%2001-1000) / 1100
		}
	}
	return b
}

// readyTree is a tree of the chains, with meters and with sinks that keep what they get.
func readyTree(b stages.Block, frames int) (*Tree, []*keeping) {
	branches := make([]Branch, len(treeChains))
	for i, chain := range treeChains {
		branches[i].Chain = chain
	}
	tree := NewTree(&Input{AudioFile: &scripted{b: b}}, branches, Options{Frames: frames})
	tree.Measure(0)
	kept := make([]*keeping, len(treeChains))
	tree.Each(func(i int, p *Pass) error {
		kept[i] = &keeping{}
		p.To = kept[i]
		return p.Hear(Hearing{LevelDBSPL: 92})
	})
	return tree, kept
}

// What chains begin with is there once: the stages, the meters of boundaries where both are judged alike, and
// listeners.
func TestATreeSharesWhatChainsBeginWith(t *testing.T) {
	tree, _ := readyTree(treeMix(), 256)
	shared := func(i, j int) (n int) {
		a, b := tree.Passes[i].links, tree.Passes[j].links
		for n < min(len(a), len(b)) && a[n].stages[0] == b[n].stages[0] {
			n++
		}
		return n
	}
	for _, c := range []struct{ i, j, want int }{{0, 1, 2}, {0, 2, 1}, {0, 3, 0}, {1, 4, 3}, {0, 4, 2}} {
		if got := shared(c.i, c.j); got != c.want {
			t.Errorf("chains %d and %d share %d stages, want %d", c.i, c.j, got, c.want)
		}
	}
	if tree.Passes[0].meters[1] != tree.Passes[1].meters[1] ||
		tree.Passes[1].meters[3] == tree.Passes[4].meters[3] {
		t.Error("meters: want one after the gain, and one each where one chain ends and the other does not")
	}
}

// What comes of each chain is what comes of a pass by itself, sample for sample and figure for figure.
func TestATreeIsItsChains(t *testing.T) {
	long.Only(t, "TestADeliveryIsTheWholeOfItsChain of package pipeline compares the files of "+
		"trees and of chains")
	b := treeMix()
	for _, frames := range []int{100, 4096} {
		tree, kept := readyTree(b, frames)
		crew := NewCrew(2)
		if err := tree.Run(t.Context(), crew); err != nil {
			t.Fatal(err)
		}
		for i, chain := range treeChains {
			p, err := New(&Input{AudioFile: &scripted{b: b}}, chain, Options{Frames: 1000})
			if err != nil {
				t.Fatal(err)
			}
			p.Measure(0)
			if err := p.Hear(Hearing{LevelDBSPL: 92}); err != nil {
				t.Fatal(err)
			}
			alone := &keeping{}
			p.To = alone
			if err := p.Run(t.Context(), crew); err != nil {
				t.Fatal(err)
			}
			if len(alone.got) == 0 || !slices.Equal(alone.got, kept[i].got) {
				t.Errorf("chain %d: other samples than by itself", i)
			}
			if got, want := textOf(t, tree.Passes[i].Entry(0)), textOf(t, p.Entry(0)); got != want {
				t.Errorf("chain %d: other figures than by itself:\n%s\nwant\n%s", i, got, want)
			}
		}
	}
}

// full is a sink that takes a while until it takes no more.
type full struct {
	keeping
	left int
}

var errFull = errors.New("full")

func (f *full) Write(b stages.Block) error {
	if f.left--; f.left < 0 {
		return errFull
	}
	return f.keeping.Write(b)
}

// A chain whose output cannot be written fails alone; where all have failed, nothing more is read.
func TestAChainOfATreeFailsAlone(t *testing.T) {
	for _, failing := range [][]int{{0}, {1, 3}, {0, 1, 2, 3, 4}} {
		tree, kept := readyTree(treeMix(), 256)
		for _, i := range failing {
			tree.Passes[i].To = &full{left: 5}
		}
		if err := tree.Run(t.Context(), NewCrew(2)); err != nil {
			t.Fatalf("%v: %v", failing, err)
		}
		for i := range treeChains {
			if err := tree.Err(i); errors.Is(err, errFull) != slices.Contains(failing, i) {
				t.Errorf("of %v chain %d: %v", failing, i, err)
			}
			if !slices.Contains(failing, i) && len(kept[i].got) != 20000 {
				t.Errorf("of %v chain %d has %d frames", failing, i, len(kept[i].got))
			}
		}
		if read := tree.made[0].from.(*Input).AudioFile.(*scripted).at; len(failing) == 5 && read == 20000 {
			t.Error("the mix is read to its end for nobody")
		}
	}
}
