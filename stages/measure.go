package stages

var measureKind = Kind{
	Name: "measure",
	Doc:  "Passes audio untouched; its reading is in the ledger, and requirements that fail fail the run.",
	Keys: []Key{
		{
			Name: "sample_peak_max_dbfs", Type: Number, Min: -60, Max: 60, Unit: "dBFS",
			Doc: "The largest sample peak allowed.",
		},
		{
			Name: "true_peak_max_dbtp", Type: Number, Min: -60, Max: 60, Unit: "dBTP",
			Doc: "The largest true peak allowed.",
		},
		{
			Name: "true_peak_bs1770_max_dbtp", Type: Number, Min: -60, Max: 60, Unit: "dBTP",
			Doc: "The same as the filter of ITU-R BS.1770-5, Annex 2, reads it.",
		},
		{
			Name: "true_peak_sinc49_max_dbtp", Type: Number, Min: -60, Max: 60, Unit: "dBTP",
			Doc: "The same as a windowed sinc of 49 taps reads it.",
		},
		{
			Name: "loudness_min_lufs", Type: Number, Min: -70, Max: 20, Unit: "LUFS",
			Doc: "The least integrated loudness allowed.",
		},
		{
			Name: "loudness_max_lufs", Type: Number, Min: -70, Max: 20, Unit: "LUFS",
			Doc: "The greatest integrated loudness allowed.",
		},
		{
			Name: "loudness_range_max_lu", Type: Number, Min: 0, Max: 100, Unit: "LU",
			Doc: "The widest loudness range allowed.",
		},
		{
			Name: "removed_max_db", Type: Number, Min: -200, Max: 20, Unit: "dB",
			Doc: "The highest level, relative to the driven input, that the whole chain may remove.",
		},
		{
			Name: "clipped_max_percent", Type: Number, Min: 0, Max: 100, Unit: "%",
			Doc: "The greatest share of samples of the driven input that may be beyond the chain's lowest ceiling.",
		},
		{
			Name: "noise_to_mask_max_db", Type: Number, Min: -200, Max: 50, Unit: "dB",
			Doc: "The greatest noise to mask allowed of the whole chain.",
		},
		{
			Name: "disturbed_max_percent", Type: Number, Min: 0, Max: 100, Unit: "%",
			Doc: "The greatest share of the track in which the whole chain may disturb.",
		},
		{
			Name: "overs_max", Type: Integer, Min: 0, Max: 1 << 53, Unit: "samples",
			Doc: "How many samples may pass the ceiling of the last stage before this one that has a ceiling, or " +
				"the release's.",
		},
	},
	Mono:  func(Format, Settings) (Mono, error) { return measure{}, nil },
	Reads: true,
	Remarks: func(chain []Use, k int) (all []Remark) {
		s := chain[k]
		least, hasLeast := s.Settings["loudness_min_lufs"].(float64)
		most, hasMost := s.Settings["loudness_max_lufs"].(float64)
		if hasLeast && hasMost && least > most {
			all = append(all, remark(k, "stage %q asks for at least %v and at most %v LUFS, which nothing passes",
				s.Name, least, most))
		}
		return append(all, untold(chain, k)...)
	},
}

// Requiring is a measure of that name that requires something of the reading where it is, in settings that
// have been checked against its keys.
func Requiring(name string, requirements Settings) Use {
	return Use{Name: name, Kind: measureKind.Name, Settings: requirements}
}

// untold is what a measure requires of the whole chain that is not told where the rate changes on the way.
func untold(chain []Use, k int) (all []Remark) {
	if _, _, told := Told(chain); told {
		return nil
	}
	for _, key := range []string{"removed_max_db", "noise_to_mask_max_db", "disturbed_max_percent"} {
		if _, ok := chain[k].Settings[key]; ok {
			all = append(all,
				remark(k, "stage %q: %s is not measured of a chain with a change of rate in it, and fails nothing",
					chain[k].Name, key))
		}
	}
	return all
}

// measure passes audio on: the runner reads every boundary anyway.
type measure struct{}

func (measure) Process(dst, src []float64) { copy(dst, src) }

func (measure) Effect() Effect { return Effect{} }
