package stages

// unheldMasked is that a masked clip chain[i] may pass its ceiling with no hold after it.
func unheldMasked(chain []Use, i int) []Remark {
	if !lastToPass(chain, i) {
		return nil
	}
	return []Remark{
		remark(i, "stage %q leaves what its pulses cannot take down over its ceiling, and no "+
			"ceiling_hold follows it", chain[i].Name),
	}
}
