package survey

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// verdicts are the answers of a mix's chains in words, each on a line, and how the chains compare.
func (s *Survey) verdicts(tracks []Track) string {
	var b strings.Builder
	for i := range tracks {
		t := &tracks[i]
		text := t.verdict(s)
		if len(tracks) > 1 {
			text = t.chain() + ": " + text
		}
		fmt.Fprintf(&b, "  %s\n", text)
	}
	if len(tracks) > 1 && !s.Interrupted {
		b.WriteString(s.compared(tracks))
	}
	if slices.ContainsFunc(tracks, func(t Track) bool {
		return slices.ContainsFunc(t.Rows, func(r Row) bool { return r.Unrepeated })
	}) {
		b.WriteString("  ~ fails in any case, and was done once: a render repeats it with a lower aim of the " +
			"hold, which moves figures a little\n")
	}
	return b.String()
}

// verdict is the answer and the first failure in words.
func (t *Track) verdict(s *Survey) string {
	switch {
	case s.Interrupted && s.Target == nil && !t.decided:
		return fmt.Sprintf("interrupted: %d of %d values are known", len(t.Rows), t.values)
	case s.Interrupted && t.Solved == nil:
		return "interrupted: not solved"
	case t.Solved != nil:
		return t.solvedText(s)
	}
	setting := shown(s.Setting)
	f := t.FirstFailure
	if f == nil && t.Answer == nil && len(t.Rows) > 0 && t.Rows[0].LoudnessLUFS == nil {
		return "silent, or shorter than the 400 ms that have a loudness: no value is an answer"
	}
	if f == nil && t.Answer == nil {
		return "nothing is required: a --limit, or a measure in the chain, says which values will do"
	}
	text := "no value of " + setting + " keeps every requirement"
	if t.Answer != nil {
		text = fmt.Sprintf("%s = %s is the deepest value that keeps every requirement", setting, number(*t.Answer))
	}
	if f == nil {
		return text + "; every value that was tried keeps them"
	}
	return text + fmt.Sprintf("; %s fails first%s", number(f.Value), f.where()) + f.list()
}

// where is the place of a failure.
func (f *Failure) where() string {
	if f.TimeS == nil {
		return ""
	}
	return fmt.Sprintf(", worst at %.2f s", *f.TimeS)
}

// list are the requirements that fail, each on a line.
func (f *Failure) list() (text string) {
	for _, q := range f.Requirements {
		text += "\n    " + shown(q.Stage) + ": " + q.String()
	}
	return text
}

// solvedText says how near a track came to the target.
func (t *Track) solvedText(s *Survey) string {
	q, f, setting := t.Solved, s.Target.figure, shown(s.Setting)
	found, wanted := f.text(q.Found), f.text(&q.Wanted)
	text := fmt.Sprintf("%s = %s comes to %s, wanted %s", setting, number(q.Value), found, wanted)
	if q.Found == nil {
		return fmt.Sprintf("there is no %s at any value of %s that was tried: silence, nothing removed, or a "+
			"chain that it is not read of", s.Target.Figure, setting)
	}
	if !q.Reached {
		text = fmt.Sprintf("no value of %s that was tried comes to %s; the nearest is %s, at %s", setting, wanted,
			found, number(q.Value))
		if q.Value == q.from || q.Value == q.to {
			text += fmt.Sprintf(": the end of the range from %s to %s, which --from and --to can widen",
				number(q.from), number(q.to))
		}
	}
	if t.FirstFailure == nil {
		return text
	}
	text += ", which fails" + t.FirstFailure.where() + t.FirstFailure.list() + "\n    "
	if q.Within == nil {
		return text + "no value that was tried keeps every requirement; a survey with --step shows more"
	}
	return text + fmt.Sprintf("%s at %s is %s found that keeps every requirement", f.text(q.Within),
		number(*t.Answer), f.most)
}

// compared says which of a mix's chains gives most for least.
func (s *Survey) compared(tracks []Track) string {
	if s.Target == nil {
		return louder(tracks)
	}
	return s.lessDisturbed(tracks)
}

// louder says which chain's answer is the loudest, as the table has it.
func louder(tracks []Track) string {
	var texts []string
	best, most, alike := "", 0.0, false // alike: another has the most too
	for i := range tracks {
		t := &tracks[i]
		row := t.answered()
		if row == nil || row.LoudnessLUFS == nil {
			continue
		}
		texts = append(texts, fmt.Sprintf("%s %s LUFS", t.chain(), figureText(row.LoudnessLUFS)))
		loud := hundredths(*row.LoudnessLUFS)
		switch {
		case best == "" || loud > most:
			best, most, alike = t.chain(), loud, false
		case loud == most:
			alike = true
		}
	}
	switch {
	case len(texts) < 2:
		return ""
	case alike:
		return fmt.Sprintf("  no answer is louder than the others: %s\n", strings.Join(texts, ", "))
	}
	return fmt.Sprintf("  the loudest at its answer is %s: %s\n", best, strings.Join(texts, ", "))
}

// lessDisturbed says which chain comes to the target with least disturbance; where several disturb as much,
// with least noise to mask. Chains that read alike, as the table has it, are alike.
func (s *Survey) lessDisturbed(tracks []Track) string {
	var texts []string
	var best *Track
	var least *Row
	alike, heard := false, false // another chain disturbs as little; something of a chain may be heard
	for i := range tracks {
		t := &tracks[i]
		row := t.nearest()
		if row == nil || !t.Solved.Reached || row.Audibility == nil {
			continue
		}
		texts = append(texts, t.chain()+" "+row.disturbance())
		heard = heard || row.Audibility.NoiseToMaskDB != nil
		switch {
		case best == nil || row.disturbsLess(least):
			best, least, alike = t, row, false
		case !least.disturbsLess(row):
			alike = true
		}
	}
	switch {
	case len(texts) < 2:
		return "  fewer than two chains come to the target, so none disturbs less there\n"
	case !heard && len(texts) == 2:
		return "  both come there without a disturbance\n"
	case !heard:
		return "  all come there without a disturbance\n"
	case alike:
		return fmt.Sprintf("  no chain comes there with less disturbance than the others: %s\n",
			strings.Join(texts, "; "))
	}
	return fmt.Sprintf("  %s comes there with less disturbance: %s\n", best.chain(), strings.Join(texts, "; "))
}

// disturbance is what may be heard of a row's removal, in words.
func (r *Row) disturbance() string {
	a := r.Audibility
	text := figureText(&a.DisturbedPercent) + " % disturbed"
	if a.NoiseToMaskDB == nil {
		return text + ", no noise"
	}
	return text + ", " + figureText(a.NoiseToMaskDB) + " dB to the mask"
}

func (r *Row) disturbsLess(than *Row) bool {
	a, b := r.Audibility, than.Audibility
	if x, y := hundredths(a.DisturbedPercent), hundredths(b.DisturbedPercent); x != y {
		return x < y
	}
	return b.NoiseToMaskDB != nil &&
		(a.NoiseToMaskDB == nil || hundredths(*a.NoiseToMaskDB) < hundredths(*b.NoiseToMaskDB))
}

// hundredths is a figure as a table has it, in hundredths.
func hundredths(x float64) float64 { return math.Round(x * 100) }

// answered is the row of the answer; nil: there is none.
func (t *Track) answered() *Row {
	if t.Answer == nil {
		return nil
	}
	return t.at(*t.Answer)
}

// nearest is the row that comes nearest to the target; nil: there is none.
func (t *Track) nearest() *Row {
	if t.Solved == nil {
		return nil
	}
	return t.at(t.Solved.Value)
}

func (t *Track) at(value float64) *Row {
	for i := range t.Rows {
		if t.Rows[i].Value == value {
			return &t.Rows[i]
		}
	}
	return nil
}
