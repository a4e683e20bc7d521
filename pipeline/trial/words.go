package trial

import (
	"fmt"
	"strings"

	"ledgerline/pipeline/ledger"
)

// NotEqual is said beside every outcome that found nothing.
const NotEqual = `"not told apart" is not "equal": there can be a difference that so many answers do not show`

// String is the record in one line: kind, date, and what was found.
func (r *Result) String() string {
	head := fmt.Sprintf("%s, %s, ", r.Began.Format("2006-01-02 15:04"), r.Protocol.Kind)
	if !r.Complete {
		return head + fmt.Sprintf("stopped after %s%s: says nothing", answers(len(r.Answers)), because(r.Stopped))
	}
	var parts []string
	for i := range r.Outcome {
		parts = append(parts, r.Outcome[i].Words(r.Protocol.Kind))
	}
	return head + strings.Join(parts, "; ")
}

func answers(n int) string {
	if n == 1 {
		return "1 answer"
	}
	return fmt.Sprintf("%d answers", n)
}

func because(why string) string {
	if why == "" {
		return ""
	}
	return ", because " + why
}

// Words is an outcome in words.
func (o *Outcome) Words(k Kind) string {
	switch k {
	case ABX:
		verdict := "not told apart"
		if o.Found {
			verdict = "told apart"
		}
		return fmt.Sprintf("%s / %s: %d of %d right, p = %.4f, %s", o.First, o.Second, o.Count, o.Of, o.P, verdict)
	case Preference:
		verdict := "no preference found"
		if o.Found {
			verdict = o.First + " preferred"
			if 2*o.Count < o.Of {
				verdict = o.Second + " preferred"
			}
		}
		return fmt.Sprintf("%s / %s: %d to %d, p = %.4f, %s", o.First, o.Second, o.Count, o.Of-o.Count,
			o.PAll, verdict)
	}
	text := fmt.Sprintf("%s against %s: difference grade %+.2f", o.First, o.Second, *o.Grade)
	if o.GradeOff != nil {
		text += fmt.Sprintf(" ± %.2f", *o.GradeOff)
	}
	verdict := "not told from the reference"
	if o.Found {
		verdict = "told from the reference"
	}
	return text + fmt.Sprintf(", p = %.4f, %s", o.PAll, verdict)
}

// Changed are the sources of a record whose files are not those of the ledger any more, by name.
func (r *Result) Changed(l *ledger.Ledger) (names []string) {
	for _, s := range r.Sources {
		if now, ok := s.hashIn(l, r.Track); ok && now != s.SHA256 {
			names = append(names, s.Name)
		}
	}
	return names
}

// hashIn is the hash of a source's file in a ledger; "" where the ledger has no such file. A ledger without
// any entry of the track says nothing.
func (s *Source) hashIn(l *ledger.Ledger, track string) (sha string, ok bool) {
	for i := range l.Tracks {
		t := &l.Tracks[i]
		if t.Name != track {
			continue
		}
		ok = true
		switch {
		case s.Is == Mix:
			return t.Source.SHA256, true
		case t.Variant == s.Variant && t.Delivery == s.Delivery:
			return t.Output.SHA256, true
		}
	}
	return "", ok
}

// FoundNothing says whether the trials were all answered, and some difference was not found.
func (r *Result) FoundNothing() bool {
	for i := range r.Outcome {
		if !r.Outcome[i].Found {
			return true
		}
	}
	return false
}
