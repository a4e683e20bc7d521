package release

import "testing"

func TestProblemsOfAudibility(t *testing.T) {
	inHarbour(t)
	const measure = "[[stage]]\nkind = \"measure\"\n"
	for name, c := range map[string]struct{ text, want string }{
		"no table": {
			"audibility = true", `2: audibility = true is a truth value; want a table [audibility]`,
		},
		"unknown": {
			"[audibility]\nlevel_db = 80", `3: [audibility] has no key "level_db"; did you mean "level_db_spl"?`,
		},
		"elsewhere": {"aliasing = true", `2: unknown key "aliasing"; it belongs under [audibility]`},
		"measure a word": {
			"[audibility]\nmeasure = \"false\"",
			`3: [audibility] measure = "false" is a string; want true or false, without quotes`,
		},
		"aliasing a number": {
			"[audibility]\naliasing = 1", `3: [audibility] aliasing = 1 is a whole number; want true or false`,
		},
		"too quiet": {
			"[audibility]\nlevel_db_spl = 39",
			`3: [audibility] level_db_spl = 39 is out of range; want a number from 40 to 120 dB SPL`,
		},
		"too loud": {
			"[audibility]\nlevel_db_spl = 120.5",
			`3: [audibility] level_db_spl = 120.5 is out of range; want a number from 40 to 120 dB SPL`,
		},
		"aliasing unheard": {
			"[audibility]\nmeasure = false\naliasing = true",
			`4: [audibility] aliasing = true needs the mask, and measure = false turns it off; want one of the two`,
		},
		"promise unmeasured": {
			"[audibility]\nmeasure = false\n" + measure + "disturbed_max_percent = 1",
			`6: stage "measure": disturbed_max_percent = 1 asks for a figure that [audibility] measure = false ` +
				`turns off; want one of the two`,
		},
		"of a variant": {"[audibility]\nmeasure = false\n" + measure +
			"[variant.deep]\nmeasure.noise_to_mask_max_db = -15",
			`7: [variant.deep]: stage "measure": noise_to_mask_max_db = -15 asks for a figure that [audibility] ` +
				`measure = false turns off; want one of the two`},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
}
