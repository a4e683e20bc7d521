package main

import (
	"fmt"
	"io"
	"sync"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/judge"
)

// What the judges are asked: the drive at which they first find so many percent, sought up to a limit.
const (
	judgedPercent = 1.0
	judgedMostDB  = 12.0
	judgedStepDB  = 0.1
)

// A judgement is how far a mix may be driven by one judge, with a plain clip and with a masked one.
type judgement struct {
	plain, masked float64 // drive, dB; judgedMostDB: that far at least
	gained        float64 // of the masked one's loudness over the plain one's, LU
}

// judges are those that the table has, each with what it finds in percent.
var judges = []struct {
	name string
	find func(p judge.Programme, in, out stages.Block) float64
}{
	{"disturbed", func(p judge.Programme, in, out stages.Block) float64 {
		_, disturbed := p.Ear(in, out)
		return disturbed
	}},
	{"second", func(p judge.Programme, in, out stages.Block) float64 {
		return judge.Second(p.Rate, in, out).BySix
	}},
}

// clipAndHold is a chain of a clip and a hold.
func clipAndHold(kind string, s stages.Settings, ceiling float64) judge.Chain {
	return func(f stages.Format) []stages.Stage {
		s["ceiling_dbfs"] = ceiling
		clip, err := build(kind, f, s)
		if err != nil {
			panic("internal error: " + err.Error())
		}
		hold, err := build("ceiling_hold", f, stages.Settings{"ceiling_dbfs": ceiling})
		if err != nil {
			panic("internal error: " + err.Error())
		}
		return []stages.Stage{clip, hold}
	}
}

// judgeMixes asks every judge about every mix.
func judgeMixes(mixes []judge.Programme, ceiling float64) [][]judgement {
	found := make([][]judgement, len(mixes))
	var all sync.WaitGroup
	for i, p := range mixes {
		found[i] = make([]judgement, len(judges))
		for j := range judges {
			all.Go(func() { found[i][j] = judgeMix(p, j, ceiling) })
		}
	}
	all.Wait()
	return found
}

func judgeMix(p judge.Programme, j int, ceiling float64) judgement {
	most := func(chain judge.Chain) (drive, loudness float64) {
		low, high := 0.0, judgedMostDB
		for high-low > judgedStepDB {
			drive := (low + high) / 2
			in, out := p.Render(chain, drive)
			if judges[j].find(p, in, out) < judgedPercent {
				low = drive
			} else {
				high = drive
			}
		}
		_, out := p.Render(chain, low)
		loudness, _ = p.Loudness(out)
		return low, loudness
	}
	plain, before := most(clipAndHold("oversampled_clip", stages.Settings{"factor": int64(8)}, ceiling))
	masked, after := most(clipAndHold("masked_clip", stages.Settings{}, ceiling))
	return judgement{plain, masked, after - before}
}

// printJudged prints the table.
func printJudged(w io.Writer, mixes []judge.Programme, found [][]judgement, ceiling float64) {
	fmt.Fprintf(w,
		`How far each mix can be driven into a ceiling of %v dBFS before a model of hearing finds %v %% of it, up to %v dB: with
oversampled_clip 8 and with masked_clip, either with a ceiling_hold after it. These are models, no listening test.
disturbed  the share of windows that BS.1387's model finds disturbed; the masked clip is made after the same model
second     the share of frames more than 6 dB over the mask of a second model, after MPEG-1's, which it is not made after
LU         by how much louder the masked one is then

mix              disturbed: plain  masked     LU   second: plain  masked     LU
`, ceiling, judgedPercent, judgedMostDB)
	for i, p := range mixes {
		fmt.Fprintf(w, "%-16s", p.Name)
		for j, f := range found[i] {
			fmt.Fprintf(w, "%*s%8s%+7.2f", []int{17, 16}[j], driveText(f.plain), driveText(f.masked), f.gained)
		}
		fmt.Fprintln(w)
	}
}

// drives is a drive in dB, as far as it was sought.
func driveText(db float64) string {
	if db > judgedMostDB-judgedStepDB {
		return fmt.Sprintf(">%.1f", db)
	}
	return fmt.Sprintf("%.1f", db)
}
