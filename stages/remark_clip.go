package stages

// unheldClip is that an oversampled clip chain[i] may pass its ceiling with no hold after it.
func unheldClip(chain []Use, i int) []Remark {
	if !lastToPass(chain, i) {
		return nil
	}
	return []Remark{
		remark(i, "stage %q may pass its ceiling on the way back to the track's rate, and no "+
			"ceiling_hold follows it", chain[i].Name),
	}
}

// lastToPass reports whether the clip chain[i], which may pass its ceiling, is to be told of: no hold and no
// such clip follows it, and the remark on a dither does not tell of it.
func lastToPass(chain []Use, i int) bool {
	for k := i + 1; k < len(chain); k++ {
		kind := chain[k].Of()
		if kind.Promises != nil || kind.MayPass || kind.Rounds != nil && unkeptBy(chain, k).clip == i {
			return false
		}
	}
	return true
}
