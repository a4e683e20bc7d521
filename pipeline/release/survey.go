package release

import "ledgerline/stages"

// Survey is the release file's [survey]: what the verb of that name is to step through where its command line
// does not say. It decides nothing of a render, so it is no part of the release's hash.
type Survey struct {
	Set            string          // STAGE.KEY; empty: not given
	From, To, Step *float64        // nil: not given
	Limits         stages.Settings // requirements of a measure
}

var surveyKeys = []string{"set", "from", "to", "step", "limits"}

// survey checks the table [survey]; n is nil where there is none. Whether there is such a setting is for the
// survey.
func (c *checker) survey(n *node) (s Survey) {
	if n == nil || !c.isTable(n, "a table [survey]") {
		return s
	}
	const label = "[survey] "
	for _, key := range n.keys {
		v := n.table[key]
		switch key {
		case "set":
			s.Set = c.shortName(label, v)
		case "from":
			s.From = c.surveyNumber(label, key, v)
		case "to":
			s.To = c.surveyNumber(label, key, v)
		case "step":
			s.Step = c.surveyNumber(label, key, v)
		case "limits":
			s.Limits = c.surveyLimits(v)
		default:
			c.unknown(v.line, "[survey] has no key ", key, surveyKeys)
		}
	}
	return s
}

func (c *checker) surveyNumber(label, name string, n *node) *float64 {
	const most = 1e6 // more than any setting has
	v, ok := c.setting(label, stages.Key{Name: name, Type: stages.Number, Min: -most, Max: most}, n)
	if !ok {
		return nil
	}
	x := v.(float64)
	return &x
}

func (c *checker) surveyLimits(n *node) stages.Settings {
	const label = "[survey] limits: "
	if !c.isTable(n, "a table of requirements, such as { disturbed_max_percent = 1.0 }") {
		return nil
	}
	measure := stages.Requiring("", nil).Of()
	var known []string
	for _, key := range measure.Keys {
		known = append(known, key.Name)
	}
	limits := stages.Settings{}
	for _, name := range n.keys {
		v := n.table[name]
		key, ok := measure.Key(name)
		if !ok {
			c.add(v.line, "%sa measure has no requirement %q%s", label, name, meantOr(name, known))
		} else if x, ok := c.setting(label, key, v); ok {
			limits[name] = x
		}
	}
	return limits
}
