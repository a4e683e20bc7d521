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

// limitStage is the name of the measure that the limits are put into. No stage of a release is likely to have
// it.
const limitStage = "--limit"

// plan is a survey whose options are right.
type plan struct {
	renders    []*release.Render // of the release's own chain and of the variants asked for, track by track
	stage, key string
	values     []float64  // rising; none where a target is solved for
	from, to   *float64   // between which it is solved for; nil: not said
	number     stages.Key // the setting
	falls      bool       // a lower value is deeper
	limits     stages.Settings
	target     *Target // nil: the values are stepped through
}

func newPlan(r *release.Release, o Options) (*plan, error) {
	p := &plan{}
	if err := p.choose(r, o); err != nil {
		return nil, err
	}
	if err := p.solveFor(o); err != nil {
		return nil, err
	}
	if err := p.aim(o); err != nil {
		return nil, err
	}
	p.limits = stages.Settings{}
	maps.Copy(p.limits, r.Survey.Limits)
	return p, p.limit(o.Limits)
}

// choose finds the renders.
func (p *plan) choose(r *release.Release, o Options) error {
	var tracks, variants []string
	for i := range r.Renders {
		render := &r.Renders[i]
		if render.Main != nil {
			continue // a delivery
		}
		if render.Variant == "" {
			tracks = append(tracks, render.Track)
		} else if !slices.Contains(variants, render.Variant) {
			variants = append(variants, render.Variant)
		}
		if len(o.Tracks) > 0 && !slices.Contains(o.Tracks, render.Track) {
			continue
		}
		if render.Variant == "" || slices.Contains(o.Variants, render.Variant) {
			p.renders = append(p.renders, render)
		}
	}
	for _, name := range o.Tracks {
		if !slices.Contains(tracks, name) {
			return wrong(meant(name, tracks), "the release has no track %q", name)
		}
	}
	for _, name := range o.Variants {
		if !slices.Contains(variants, name) {
			return wrong(meant(name, variants), "the release has no variant %q", name)
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
			return wrong(meant(p.stage, namesOf(r.Chain)), "--set %q: the chain of %s has no stage %q", o.Set,
				r.Label(), p.stage)
		}
		kind := r.Chain[at].Of()
		key, ok := kind.Key(p.key)
		switch {
		case !ok:
			return wrong(meant(p.key, numbersOf(kind)), "--set %q: a %s has no key %q", o.Set, kind.Name, p.key)
		case key.Type != stages.Number:
			return wrong("of its keys these can be surveyed: "+strings.Join(numbersOf(kind), ", "),
				"--set %q: %s takes no decimal number, so it has no steps", o.Set, p.key)
		case kind.Reads:
			return wrong("--limit KEY=VALUE sets a requirement",
				"--set %q: a requirement changes nothing that could be surveyed", o.Set)
		case p.from != nil && !within(key, *p.from), p.to != nil && !within(key, *p.to):
			return wrong("", "--from and --to: %s goes from %v to %v %s", p.key, key.Min, key.Max, key.Unit)
		}
		p.number = key
	}
	p.falls = p.key == "ceiling_dbfs"
	return nil
}

// span makes the values. They are rounded to 1e-9, so that each is the number that one would write.
func (p *plan) span(o Options) error {
	p.from, p.to = o.From, o.To
	if p.from != nil && p.to != nil && *p.from > *p.to {
		return wrong("", "--from %v is above --to %v", *o.From, *o.To)
	}
	if p.target != nil {
		return nil
	}
	for _, x := range []struct {
		name string
		is   *float64
	}{{"--from", o.From}, {"--to", o.To}, {"--step", o.Step}} {
		if x.is == nil {
			return wrong("it may also be in the release file, in a table [survey]; --target FIGURE=VALUE needs none",
				"%s is missing", x.name)
		}
	}
	from, to, step := *o.From, *o.To, *o.Step
	if !(step > 0) {
		return wrong("", "--step %v: want more than 0", step)
	}
	n := math.Floor((to-from)/step+1e-9) + 1
	if n > mostValues {
		return wrong("", "--step %v: %.0f values from %v to %v; want at most %d", step, n, from, to, mostValues)
	}
	for i := range int(n) {
		p.values = append(p.values, math.Round((from+float64(float64(i)*step))*1e9)/1e9+0)
	}
	return nil
}

// solveFor reads the target.
func (p *plan) solveFor(o Options) (err error) {
	switch {
	case o.Target != "":
		p.target, err = newTarget(o.Target)
		if err == nil && o.Level && p.target.Figure != figures[0].name {
			err = wrong("", "--level keeps the tracks' distances in loudness: want --target %s=VALUE with it",
				figures[0].name)
		}
	case o.Level:
		err = wrong("", "--level does not say how loud the loudest track is to be: want --target %s=VALUE with it",
			figures[0].name)
	}
	return err
}

// reach is how far a value is looked for to each side of the release's own, where the range is not said.
const reach = 12

// bracket is between which values a target is looked for.
func (p *plan) bracket(r *release.Render) (from, to float64) {
	from, to = p.number.Min, p.number.Max
	if own, ok := r.Chain[indexOf(r.Chain, p.stage)].Settings[p.key].(float64); ok {
		from, to = max(from, own-reach), min(to, own+reach)
	}
	if p.from != nil {
		from = *p.from
	}
	if p.to != nil {
		to = *p.to
	}
	return from, max(to, from)
}

func within(key stages.Key, x float64) bool { return x >= key.Min && x <= key.Max }

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

// numbersOf are the keys of a kind that hold numbers which a survey can step through; of a measure, all
// requirements.
func numbersOf(kind stages.Kind) (names []string) {
	for _, key := range kind.Keys {
		if key.Type == stages.Number || kind.Reads && key.Type == stages.Integer {
			names = append(names, key.Name)
		}
	}
	return names
}

// meant is a hint at the nearest known word, or at all of them; empty: none is known.
func meant(written string, known []string) string {
	if len(known) == 0 {
		return ""
	}
	if k, ok := release.Nearest(written, known); ok {
		return "did you mean " + k + "?"
	}
	return "want one of " + strings.Join(known, ", ")
}
