package release

import (
	"ledgerline/stages"
	"ledgerline/stages/ear"
)

// Audibility are the release file's [audibility]: whether what a chain did is held against the mask.
type Audibility struct {
	Measure    bool    // true by default
	Aliasing   bool    // that of the clips too; never without Measure
	LevelDBSPL float64 // playback level of a sine at full scale, 40 to 120
}

var audibilityKeys = []string{"measure", "aliasing", "level_db_spl"}

var playbackLevel = stages.Key{
	Name: "level_db_spl", Type: stages.Number, Min: 40, Max: 120, Unit: "dB SPL",
	Default: float64(ear.LevelDBSPL),
}

// audibility checks the table [audibility]; n is nil where there is none.
func (c *checker) audibility(n *node) Audibility {
	a := Audibility{Measure: true, LevelDBSPL: ear.LevelDBSPL}
	if n == nil || !c.isTable(n, "a table [audibility]") {
		return a
	}
	for _, key := range n.keys {
		v := n.table[key]
		switch key {
		case "measure":
			a.Measure = c.truth("[audibility] ", v)
		case "aliasing":
			a.Aliasing = c.truth("[audibility] ", v)
		case "level_db_spl":
			if level, ok := c.setting("[audibility] ", playbackLevel, v); ok {
				a.LevelDBSPL = level.(float64)
			}
		default:
			c.unknown(v.line, "[audibility] has no key ", key, audibilityKeys)
		}
	}
	if !a.Measure {
		if v := n.table["aliasing"]; a.Aliasing {
			c.add(v.line, "[audibility] %s needs the mask, and measure = false turns it off; want one of the two",
				v.text)
		}
		return Audibility{LevelDBSPL: a.LevelDBSPL} // for the stages that hear
	}
	return a
}

// measurable reports requirements of figures that [audibility] turns off: they would be met by not being
// looked at.
func (c *checker) measurable(d *draft) {
	if d.audibility.Measure {
		return
	}
	for _, s := range d.stages {
		c.unmeasured(`stage "`+s.name+`": `, s.settings, s.lines)
	}
	for _, list := range [][]override{d.variants, d.tracks} {
		for _, ch := range list {
			for name, s := range ch.stages {
				c.unmeasured(ch.label+`stage "`+name+`": `, s.settings, s.lines)
			}
		}
	}
}

func (c *checker) unmeasured(label string, s stages.Settings, lines map[string]int) {
	for _, key := range []string{"noise_to_mask_max_db", "disturbed_max_percent"} {
		if v, ok := s[key]; ok {
			c.add(lines[key], "%s%s = %v asks for a figure that [audibility] measure = false turns off; want "+
				"one of the two", label, key, v)
		}
	}
}
