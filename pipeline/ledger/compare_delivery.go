package ledger

import (
	"reflect"
	"slices"
)

// A moved figure is told once: a delivery's at a stage that it has in common with the chain it continues
// follows that of the master there, unless it is a loss.
type masterMoved map[trackKey]map[[2]string]bool // of each master, by stage and figure

// note notes what of a master moved, and of a delivery marks what follows it. Masters come before their
// deliveries.
func (known masterMoved) note(p pair, moves []Move, masters map[trackKey]*Track) {
	key := p.new.key()
	if key.delivery == "" {
		known[key] = map[[2]string]bool{}
		for _, m := range moves {
			known[key][[2]string{m.Stage, m.Figure}] = true
		}
		return
	}
	key.delivery = ""
	shared := []string{"source"}
	if master := masters[key]; master != nil {
		for k := 0; k < min(len(master.Chain), len(p.new.Chain)) &&
			reflect.DeepEqual(master.Chain[k], p.new.Chain[k]); k++ {
			shared = append(shared, p.new.Chain[k].Name)
		}
	}
	for i := range moves {
		m := &moves[i]
		if !m.Worse && slices.Contains(shared, m.Stage) && known[key][[2]string{m.Stage, m.Figure}] {
			m.Follows = true
		}
	}
}
