package release

// unheldClip notes an oversampled clip chain[i] that may pass its ceiling with no
// hold after it, unless the note on a dither tells of that clip, or there is a
// later one to be told of.
func unheldClip(chain []stageUse, i int, add func(int, string, ...any)) {
	told := firstAfter(chain, i, holdsOrClips) != nil
	for k := i + 1; k < len(chain) && !told; k++ {
		if chain[k].Kind == "dither" {
			unheldDither(chain, k, func(_ int, _ string, named ...any) {
				told = told || len(named) == 2 && named[1] == chain[i].Name
			})
		}
	}
	if !told {
		add(chain[i].line, "stage %q may pass its ceiling on the way back to the track's rate, and no ceiling_hold follows it", chain[i].Name)
	}
}

// holdsOrClips is every stage after which an oversampled clip before it needs no
// note: one that holds, and one that gets the note itself.
func holdsOrClips(s stageUse) bool { return s.Kind == "ceiling_hold" || s.Kind == "oversampled_clip" }
