// Proof measures what the clipping stages promise, on the current code, and
// prints it as four tables: three sines, whose every harmonic is known from theory,
// the example release, driven into the ceiling, what of the clips' aliasing the ear model has above the mask,
// and the true peaks of the release and of noise as four meters read them.
//
//	go run ./examples/proof                                      # all tables
//	go run ./examples/proof --sines                              # the first alone
//	go run ./examples/proof --judged                             # what a masked clip buys, by two models
//	go run ./examples/proof --mixes DIR --drive_db 3 --ceiling_dbfs -2
//
// Every chain is a clip, followed by no hold or by one of either method. It measures
// without the stages' own filters: spectra and the signal between the samples come from
// discrete Fourier transforms, and programme is compared with a plain clip at 64 times its
// rate.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"ledgerline/stages/stagetest/judge"
)

func main() {
	only := flag.Bool("sines", false, "measure the sines only")
	judged := flag.Bool("judged", false, "have the mixes judged by models of hearing, and nothing else")
	mixes := flag.String("mixes", "examples/night-ferry/mixes", "the folder of the mixes")
	drive := flag.Float64("drive_db", 5, "how far the mixes are driven, dB")
	ceiling := flag.Float64("ceiling_dbfs", -1, "the ceiling of the mixes, dBFS, -60 to 0")
	flag.Parse()
	if err := usage(*ceiling); err != nil {
		fmt.Fprintln(os.Stderr, "proof: error:", err)
		os.Exit(2)
	}
	if *judged {
		if err := judgeFolder(*mixes, *ceiling); err != nil {
			fmt.Fprintln(os.Stderr, "proof: error:", err)
			os.Exit(1)
		}
		return
	}
	if err := prove(*only, *mixes, *drive, *ceiling); err != nil {
		fmt.Fprintln(os.Stderr, "proof: error:", err)
		os.Exit(1)
	}
}

func usage(ceiling float64) error {
	if flag.NArg() > 0 {
		return fmt.Errorf("unexpected argument %q: the folder is given by --mixes", flag.Arg(0))
	}
	if !(ceiling >= -60 && ceiling <= 0) {
		return fmt.Errorf("--ceiling_dbfs %v: want -60 to 0", ceiling)
	}
	return nil
}

func prove(only bool, folder string, drive, ceiling float64) error {
	var p *programme
	if !only {
		var err error
		if p, err = loadAll(folder, drive, ceiling); err != nil {
			return err
		}
	}
	sines, err := measureSines()
	if err != nil {
		return err
	}
	printSines(os.Stdout, sines)
	if only {
		return nil
	}
	rows, err := p.measure()
	if err != nil {
		return err
	}
	printProgramme(os.Stdout, p, rows)
	heard, err := p.audibility()
	if err != nil {
		return err
	}
	printAudible(os.Stdout, heard)
	read, err := p.readings()
	if err != nil {
		return err
	}
	printReadings(os.Stdout, ceiling, read)
	return nil
}

// judgeFolder prints how far the mixes of a folder can be driven.
func judgeFolder(folder string, ceiling float64) error {
	p, err := loadAll(folder, 0, ceiling)
	if err != nil {
		return err
	}
	var mixes []judge.Programme
	for _, m := range p.mixes {
		mixes = append(mixes, judge.Programme{
			Name: strings.TrimSuffix(m.name, ".wav"), Rate: m.format.Rate, Audio: m.driven,
		})
	}
	printJudged(os.Stdout, mixes, judgeMixes(mixes, ceiling), ceiling)
	return nil
}

// loadAll reads every mix of a folder.
func loadAll(folder string, drive, ceiling float64) (*programme, error) {
	paths, err := filepath.Glob(filepath.Join(folder, "*.wav"))
	if err != nil {
		return nil, err
	}
	if len(paths) == 0 {
		return nil, fmt.Errorf("%s has no *.wav", folder)
	}
	p := &programme{drive: drive, ceiling: ceiling}
	for _, path := range paths {
		m, err := load(path, drive, ceiling)
		if err != nil {
			return nil, err
		}
		p.mixes = append(p.mixes, m)
	}
	return p, nil
}
