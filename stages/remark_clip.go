package stages

// unheldClip is that an oversampled clip chain[i] may pass its ceiling with no
// hold after it, unless the remark on a dither tells of that clip, or there is a
// later one to be told of.
func unheldClip(chain []Use, i int) []Remark {
	for k := i + 1; k < len(chain); k++ {
		kind := chain[k].Of()
		if kind.Promises != nil || kind.MayPass || kind.Rounds != nil && unkeptBy(chain, k).clip == i {
			return nil
		}
	}
	return []Remark{remark(i, "stage %q may pass its ceiling on the way back to the track's rate, and no ceiling_hold follows it", chain[i].Name)}
}
