package survey

import (
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// mostValues is how many values a survey may have.
const mostValues = 1000

// limitStage is the name of the measure that the limits are put into. No stage of a release is likely to have it.
const limitStage = "--limit"

// plan is a survey whose options are right.
type plan struct {
	renders    []*release.Render // of the release's own chain
	stage, key string
	values     []float64 // rising
	falls      bool      // a lower value is deeper
	limits     stages.Settings
}

func newPlan(r *release.Release, o Options) (*plan, error) {
	p := &plan{}
	if err := p.choose(r, o.Tracks); err != nil {
		return nil, err
	}
	if err := p.aim(o); err != nil {
		return nil, err
	}
	p.limits = stages.Settings{}
	maps.Copy(p.limits, r.Survey.Limits)
	return p, p.limit(o.Limits)
}

func (p *plan) count() int { return len(p.renders) * len(p.values) }

func (p *plan) numbers() []int {
	all := make([]int, p.count())
	for i := range all {
		all[i] = i
	}
	return all
}

// at is the render and the value of a number.
func (p *plan) at(i int) (*release.Render, float64) {
	return p.renders[i/len(p.values)], p.values[i%len(p.values)]
}

// choose finds the tracks.
func (p *plan) choose(r *release.Release, names []string) error {
	var known []string
	for i := range r.Renders {
		render := &r.Renders[i]
		if render.Variant != "" {
			continue
		}
		known = append(known, render.Track)
		if len(names) == 0 || slices.Contains(names, render.Track) {
			p.renders = append(p.renders, render)
		}
	}
	for _, name := range names {
		if !slices.Contains(known, name) {
			return wrong(meant(name, known), "the release has no track %q", name)
		}
	}
	if len(p.renders) == 0 {
		return wrong("", "the release has no tracks")
	}
	return nil
}

// aim checks the setting and makes its values.
func (p *plan) aim(o Options) error {
	dot := strings.LastIndex(o.Set, ".")
	if dot < 1 || dot == len(o.Set)-1 {
		return wrong("", "--set %q: want STAGE.KEY, such as drive.gain_db", o.Set)
	}
	p.stage, p.key = o.Set[:dot], o.Set[dot+1:]
	if err := p.span(o); err != nil {
		return err
	}
	for _, r := range p.renders {
		at := indexOf(r.Chain, p.stage)
		if at < 0 {
			return wrong(meant(p.stage, namesOf(r.Chain)), "--set %q: the chain of %s has no stage %q", o.Set, r.Label(), p.stage)
		}
		kind := r.Chain[at].Of()
		key, ok := kind.Key(p.key)
		switch {
		case !ok:
			return wrong(meant(p.key, numbersOf(kind)), "--set %q: a %s has no key %q", o.Set, kind.Name, p.key)
		case key.Type != stages.Number:
			return wrong("of its keys these can be surveyed: "+strings.Join(numbersOf(kind), ", "), "--set %q: the key is not a decimal number", o.Set)
		case kind.Reads:
			return wrong("--limit KEY=VALUE sets a requirement", "--set %q: a requirement changes nothing that could be surveyed", o.Set)
		case p.values[0] < key.Min || p.values[len(p.values)-1] > key.Max:
			return wrong("", "--from and --to: %s goes from %v to %v %s", p.key, key.Min, key.Max, key.Unit)
		}
	}
	p.falls = p.key == "ceiling_dbfs"
	return nil
}

// span makes the values. They are rounded to 1e-9, so that each is the number that one would write.
func (p *plan) span(o Options) error {
	switch {
	case !(o.Step > 0):
		return wrong("", "--step %v: want more than 0", o.Step)
	case o.From > o.To:
		return wrong("", "--from %v is above --to %v", o.From, o.To)
	}
	n := math.Floor((o.To-o.From)/o.Step+1e-9) + 1
	if n > mostValues {
		return wrong("", "--step %v: %.0f values from %v to %v; want at most %d", o.Step, n, o.From, o.To, mostValues)
	}
	for i := range int(n) {
		p.values = append(p.values, math.Round((o.From+float64(float64(i)*o.Step))*1e9)/1e9+0)
	}
	return nil
}

// limit reads the limits.
func (p *plan) limit(limits []string) error {
	measure := stages.Requiring("", nil).Of()
	for _, text := range limits {
		name, value, ok := strings.Cut(text, "=")
		if !ok {
			return wrong("", "--limit %q: want KEY=VALUE, such as disturbed_max_percent=1", text)
		}
		key, ok := measure.Key(name)
		if !ok {
			return wrong(meant(name, numbersOf(measure)), "--limit %q: a measure has no requirement %q", text, name)
		}
		x, err := strconv.ParseFloat(value, 64)
		if err != nil || !(x >= key.Min && x <= key.Max) || key.Type == stages.Integer && x != math.Trunc(x) {
			return wrong("", "--limit %q: want a number from %v to %v %s", text, key.Min, key.Max, key.Unit)
		}
		p.limits[name] = x
		if key.Type == stages.Integer {
			p.limits[name] = int64(x)
		}
	}
	return nil
}

// chain is a render's chain with the setting at a value, and the limits required at its end.
func (p *plan) chain(r *release.Render, value float64) ([]stages.Use, error) {
	chain := slices.Clone(r.Chain)
	use := &chain[indexOf(chain, p.stage)]
	use.Settings = maps.Clone(use.Settings)
	use.Settings[p.key] = value
	if fault := use.Of().Fault; fault != nil {
		if text := fault(use.Settings); text != "" {
			return nil, wrong("", "%s at %v: %s", p.key, value, text)
		}
	}
	if len(p.limits) > 0 {
		chain = append(chain, stages.Requiring(limitStage, p.limits))
	}
	return chain, nil
}

func indexOf(chain []stages.Use, name string) int {
	return slices.IndexFunc(chain, func(u stages.Use) bool { return u.Name == name })
}

func namesOf(chain []stages.Use) (names []string) {
	for _, u := range chain {
		names = append(names, u.Name)
	}
	return names
}

// numbersOf are the keys of a kind that hold numbers which a survey can step through; of a measure, all requirements.
func numbersOf(kind stages.Kind) (names []string) {
	for _, key := range kind.Keys {
		if key.Type == stages.Number || kind.Reads && key.Type == stages.Integer {
			names = append(names, key.Name)
		}
	}
	return names
}

// meant is a hint at the nearest known word, or at all of them.
func meant(written string, known []string) string {
	if k, ok := release.Nearest(written, known); ok {
		return "did you mean " + k + "?"
	}
	return "there are: " + strings.Join(known, ", ")
}
