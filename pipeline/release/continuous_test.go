package release

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

const driven = "\n[[stage]]\nkind = \"gain\"\nname = \"drive\"\ngain_db = 3\n\n[[stage]]\n" +
	"kind = \"hard_clip\"\nname = \"clip\"\nceiling_dbfs = -1\n"

func TestGroupsOfTracks(t *testing.T) {
	inHarbour(t)
	three := []string{"01 tide", "02 breakwater", "03 lamp"}
	for text, want := range map[string]map[string][]string{
		"":                   {},
		"continuous = false": {},
		"continuous = []":    {},
		"continuous = true":  {"01 tide": three, "02 breakwater": three, "03 lamp": three},
		`continuous = [["03 lamp", "01 tide"]]`: {
			"03 lamp": {"03 lamp", "01 tide"}, "01 tide": {"03 lamp", "01 tide"},
		},
	} {
		got := map[string][]string{}
		for _, r := range mustLoad(t, mixes+text+driven+"[variant.soft]\ndrive.gain_db = 1\n").Renders {
			if r.Continuous != nil {
				got[r.Track] = r.Continuous
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", text, diff)
		}
	}
}

func TestProblemsOfGroups(t *testing.T) {
	inHarbour(t)
	const lists = `a list of lists of tracks, such as [["01 quay", "02 ferry"]], or true for all`
	for name, c := range map[string]struct{ text, want string }{
		"a track": {`continuous = "01 tide"`, `2: continuous = "01 tide" is a string; want ` + lists},
		"one list": {
			`continuous = ["01 tide", ["02 breakwater", "03 lamp"]]`,
			`2: continuous: "01 tide" is a string; want ` + lists,
		},
		"a number": {
			"continuous = [[\"01 tide\",\n 2]]", `3: continuous: 2 is a whole number; want a track's name in quotes`,
		},
		"one track": {
			`continuous = [["01 tide"]]`,
			`2: continuous: a group of 1 track; want two or more that run into each other`,
		},
		"no track": {
			`continuous = [[]]`, `2: continuous: a group of 0 tracks; want two or more that run into each other`,
		},
		"twice": {
			`continuous = [["01 tide", "02 breakwater"], ["03 lamp", "01 tide"]]`,
			`2: continuous: track "01 tide" is named twice; want it once, in one group`,
		},
		"unknown": {
			"continuous = [\n[\"01 tide\", \"02 brakewater\"]]",
			`3: continuous: no track is named "02 brakewater"; did you mean "02 breakwater"?`,
		},
		"nothing near": {
			`continuous = [["01 tide", "artwork"]]`,
			`2: continuous: no track is named "artwork"; the tracks are "01 tide", "02 breakwater" and "03 lamp"`,
		},
		"extension": {
			`continuous = [["01 tide", "03 lamp.wav"]]`,
			`2: continuous: no track is named "03 lamp.wav"; want "03 lamp", without the extension`,
		},
		"setting": {
			"continuous = [[\"01 tide\", \"03 lamp\"]]" + driven + "[track.\"03 lamp\"]\ndrive.gain_db = 2\n",
			`2: continuous: "01 tide" and "03 lamp" are one stream and have different chains: drive.gain_db is 3 ` +
				`and 2; want the same for both`,
		},
		"skipped": {
			"continuous = true" + driven + "[track.\"02 breakwater\"]\nskip = [\"clip\"]\n",
			`2: continuous: "01 tide" and "02 breakwater" are one stream and have different chains: they skip ` +
				`different stages; want the same for both`,
		},
		"in a variant": {
			"continuous = true" + driven + "[track.\"02 breakwater\"]\ndrive.gain_db = 3\n[variant.soft]\n" +
				"drive.gain_db = 1\n",
			`2: continuous: "01 tide" and "02 breakwater" are one stream and have different chains in ` +
				`[variant.soft]: drive.gain_db is 1 and 3; want the same for both`,
		},
		"under output": {
			"[output]\ncontinuous = true",
			`3: [output] has no key "continuous"; it belongs at the top of the file, before the first table`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
}

// The order of a group's tracks is part of what a file means, that of the groups is not.
func TestHashOfGroups(t *testing.T) {
	inFolder(t, "mixes/a.wav", "mixes/b.wav", "mixes/c.wav", "mixes/d.wav")
	hash := func(text string) string { return mustLoad(t, mixes+text+driven).Hash }
	if hash("") != hash("continuous = false") || hash("") != hash("continuous = []") {
		t.Error("no groups have another hash")
	}
	if hash(`continuous = [["a", "b"], ["d", "c"]]`) != hash(`continuous = [["d", "c"], ["a", "b"]]`) {
		t.Error("the order of groups has another hash")
	}
	if hash(`continuous = [["a", "b"]]`) == hash(`continuous = [["b", "a"]]`) ||
		hash("continuous = true") == hash("") {
		t.Error("other groups have the same hash")
	}
}
