package stages

import "maps"

// cleanFactor is that of the clip that others are compared with: nothing of it aliases that a meter or an ear
// could tell.
const cleanFactor = 16

// cleanClip is the band-limited clip with the settings of another one.
func cleanClip(u Use) Use {
	s := maps.Clone(u.Settings)
	s["factor"] = int64(cleanFactor)
	return Use{Name: u.Name, Kind: "oversampled_clip", Settings: s}
}
