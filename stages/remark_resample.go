package stages

// unheldResample is that nothing holds a ceiling after the change of rate chain[i]: peaks rise where samples
// come to lie elsewhere.
func unheldResample(chain []Use, i int) []Remark {
	for _, use := range chain[i+1:] {
		if use.Of().Promises != nil {
			return nil
		}
	}
	return []Remark{
		remark(i, "stage %q may raise peaks, as every change of rate does, and no ceiling_hold follows it",
			chain[i].Name),
	}
}
