package release

import "testing"

// pushed is a release with a variant that says more of the stages; the test's
// lines begin at the 16th.
const pushed = mixes + `
[[stage]]
kind = "gain"
name = "drive"
gain_db = 3.1
[[stage]]
kind = "oversampled_clip"
name = "clip"
ceiling_dbfs = -1
[[stage]]
kind = "dither"
bits = 24
[track."02 breakwater"]
drive.gain_db = -5
`

// settingOf is what a render's stage has in a setting.
func settingOf(t *testing.T, r *Release, track, variant, stage, key string) any {
	t.Helper()
	for _, render := range r.Renders {
		for _, use := range render.Chain {
			if render.Track == track && render.Variant == variant && use.Name == stage {
				return use.Settings[key]
			}
		}
	}
	t.Fatalf("no stage %q in %q of %q", stage, variant, track)
	return nil
}

// A variant adds to what a track has, its own setting or the release's. The sums
// are those on paper: in floats 3.1 + 0.2 is 3.3000000000000003.
func TestAVariantAddsToWhatATrackHas(t *testing.T) {
	inHarbour(t)
	r := mustLoad(t, pushed+`[variant.hot]
drive.gain_db = "+0.2"
[variant.cool]
drive.gain_db = "-3.1"
clip.kind = "hard_clip"
clip.ceiling_dbfs = "-0.5"
[variant.fixed]
drive.gain_db = 1
[variant.dry]
skip = ["drive"]
drive.gain_db = "+60"
`)
	for _, c := range []struct {
		track, variant, stage, key string
		want                       any
	}{
		{"01 tide", "", "drive", "gain_db", 3.1},
		{"01 tide", "hot", "drive", "gain_db", 3.3},
		{"02 breakwater", "hot", "drive", "gain_db", -4.8},
		{"01 tide", "cool", "drive", "gain_db", 0.0},
		{"02 breakwater", "cool", "drive", "gain_db", -8.1},
		{"01 tide", "cool", "clip", "ceiling_dbfs", -1.5},
		{"01 tide", "fixed", "drive", "gain_db", 1.0},
		{"02 breakwater", "fixed", "drive", "gain_db", -5.0},
	} {
		if got := settingOf(t, r, c.track, c.variant, c.stage, c.key); got != c.want {
			t.Errorf("%s, %s: %s.%s = %v, want %v", c.track, c.variant, c.stage, c.key, got, c.want)
		}
	}
}

// What a variant adds is part of the file's meaning, by what comes of it.
func TestTheHashKnowsWhatAVariantAdds(t *testing.T) {
	inHarbour(t)
	hash := func(variant string) string { return mustLoad(t, pushed+"[variant.hot]\n"+variant).Hash }
	one := hash(`drive.gain_db = "+1"`)
	if one == hash(`drive.gain_db = "+2"`) {
		t.Error("another sum, the same hash")
	}
	if one == hash(`drive.gain_db = 4.1`) {
		t.Error("a track with a setting of its own is added to, and not where the variant sets it; the same hash")
	}
	if one != hash(`drive.gain_db = "+1.00"`) {
		t.Error("the same sum, another hash")
	}
}

func TestProblemsOfWhatIsAdded(t *testing.T) {
	inHarbour(t)
	const hot = pushed + "[variant.hot]\n" // 16 lines
	for name, c := range map[string]struct{ text, want string }{
		"too much": {
			hot + `drive.gain_db = "+57"`,
			`17: [variant.hot]: stage "drive": gain_db = "+57" on top of 3.1 is 60.1, which is out of range; want a ` +
				`number from -60 to 60 dB`,
		},
		"too much of a track": {
			hot + `drive.gain_db = "-56"`, `17: [variant.hot]: stage "drive": gain_db = "-56" on top of -5 is -61, ` +
				`which is out of range, in [track."02 breakwater"]; want a number from -60 to 60 dB`,
		},
		"too much of all": {
			hot + `drive.gain_db = "+99"`,
			`17: [variant.hot]: stage "drive": gain_db = "+99" on top of 3.1 is 102.1, which is out of range (and 1 ` +
				`more); want a number from -60 to 60 dB`,
		},
		"nothing to add to": {
			hot + `dither.ceiling_dbfs = "+1"`,
			`17: [variant.hot]: stage "dither": ceiling_dbfs = "+1" has no number to be added to (and 1 more); want ` +
				`a number from -60 to 0 dBFS`,
		},
		"nothing in the kind": {
			hot + "drive.kind = \"hard_clip\"\ndrive.ceiling_dbfs = \"-1\"",
			`18: [variant.hot]: stage "drive": ceiling_dbfs = "-1" has no number to be added to (and 1 more); want ` +
				`a number from -60 to 0 dBFS`,
		},
		"no sign": {
			hot + `drive.gain_db = "1.5"`, `17: [variant.hot]: stage "drive": gain_db = "1.5" is a string; want a ` +
				`number from -60 to 60 dB, without quotes, or one with its sign in quotes, such as "+1.5", to add to ` +
				`what a track has`,
		},
		"no number": {
			hot + `drive.gain_db = "+loud"`, `17: [variant.hot]: stage "drive": gain_db = "+loud" is a string; want ` +
				`a number from -60 to 60 dB, without quotes, or one with its sign in quotes, such as "+1.5", to add to ` +
				`what a track has`,
		},
		"decimal comma": {
			hot + `drive.gain_db = "+1,5"`,
			`17: [variant.hot]: stage "drive": gain_db = "+1,5" is a string; write "+1.5" to add to what a track has`,
		},
		"unit": {
			hot + `drive.gain_db = "-1.5 dB"`,
			`17: [variant.hot]: stage "drive": gain_db = "-1.5 dB" is a string; gain_db is in dB already: write ` +
				`"-1.5" to add to what a track has`,
		},
		"to a whole number": {
			hot + `dither.bits = "+8"`, `17: [variant.hot]: stage "dither": bits = "+8" is a string; want a whole ` +
				`number from 2 to 32 bits, without quotes`,
		},
		"to a key of no kind": {
			hot + `drive.warmth = "+8"`,
			`17: [variant.hot]: stage "drive": gain has no key "warmth"; want kind or gain_db`,
		},
		"in a track": {
			pushed + "[track.\"01 tide\"]\ndrive.gain_db = \"+1.5\"",
			`17: [track."01 tide"]: stage "drive": gain_db = "+1.5" is a string; want a number from -60 to 60 dB, ` +
				`without quotes: only a [variant.NAME] takes one in quotes, to add to what a track has`,
		},
		"in the release's own": {
			mixes + "[[stage]]\nkind = \"gain\"\ngain_db = \"-3\"",
			`4: stage "gain": gain_db = "-3" is a string; want a number from -60 to 60 dB, without quotes: only a ` +
				`[variant.NAME] takes one in quotes, to add to what a track has`,
		},
		"to what is wrong": {
			mixes + "[[stage]]\nkind = \"gain\"\ngain_db = 61\n[variant.hot]\ngain.gain_db = \"+1\"",
			`4: stage "gain": gain_db = 61 is out of range; want a number from -60 to 60 dB`,
		},
		"the release's ceiling": {
			mixes + `ceiling_dbfs = "-1"`,
			`2: ceiling_dbfs = "-1" is a string; want a number from -60 to 0 dBFS, without quotes`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, c.text, "release.toml:"+c.want) })
	}
}
