// Compose writes the mixes of Night Ferry, the example release: three short
// pieces about the harbour of Tarrenwick, a town that is on no map.
//
//	go run ./examples/night-ferry/compose                  # over the mixes beside it
//	go run ./examples/night-ferry/compose --folder DIR     # somewhere else
//
// The three are there to give a mastering chain something to do: Quay is a mix
// of middle loudness, Breakwater is dense and loud, Lantern is sparse and keeps
// nearly all of its level for two blows. Every machine composes the same bytes;
// arith.go says how.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

// A piece is one track of the release.
type piece struct {
	file string
	fade float64 // over its last seconds
	peak float64 // of the finished mix, dBFS
	play func() bus
}

var release = []piece{
	{"01 quay.wav", 0.5, -1.1, quay},
	{"02 breakwater.wav", 0.35, -0.8, breakwater},
	{"03 lantern.wav", 0.9, -1.4, lantern},
}

func main() {
	folder := flag.String("folder", "examples/night-ferry/mixes", "where the mixes are written")
	flag.Parse()
	if flag.NArg() > 0 {
		fmt.Fprintf(os.Stderr, "compose: error: unexpected argument %q: the folder is given by --folder\n",
			flag.Arg(0))
		os.Exit(2)
	}
	if err := compose(*folder); err != nil {
		fmt.Fprintln(os.Stderr, "compose: error:", err)
		os.Exit(1)
	}
}

// compose writes every piece of the release into folder, which it makes if
// there is none.
func compose(folder string) error {
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return err
	}
	for i := range release {
		if err := composePiece(folder, i); err != nil {
			return err
		}
	}
	return nil
}

func composePiece(folder string, i int) error {
	p := release[i]
	mix := p.play()
	mix.finish(p.fade, p.peak)
	return write(filepath.Join(folder, p.file), mix, noise(i+1))
}
