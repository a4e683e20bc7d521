package release

import (
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
)

// tagged is a release of which every tag is given.
const tagged = mixes + `[tags]
album = "Night Ferry"
artist = "Lights"
date = 2026-11-27
catalogue_number = "LL 007"
ean = "6291041500213"
[track."02 breakwater".tags]
title = "Breakwater"
isrc = "AA-6Q7-20-00047"
number = 2
composer = "A. Wave"
`

func TestTags(t *testing.T) {
	inHarbour(t)
	r := mustLoad(t, tagged)
	record := audiofile.Tags{
		Album: "Night Ferry", Artist: "Lights", Date: "2026-11-27", CatalogueNumber: "LL 007", EAN: "6291041500213",
	}
	track := record
	track.Title, track.ISRC, track.Number, track.Composer = "Breakwater", "AA6Q72000047", 2, "A. Wave"
	for i, want := range []audiofile.Tags{record, track, record} {
		if got := r.Renders[i].Tags; got != want {
			t.Errorf("%s: %+v, want %+v", r.Renders[i].Track, got, want)
		}
	}
}

func TestTagsAreOfTheMeaning(t *testing.T) {
	inHarbour(t)
	none := mustLoad(t, mixes).Hash
	if got := mustLoad(t, mixes+"[tags]\n[track.\"03 lamp\".tags]\n").Hash; got != none {
		t.Error("tables without tags change the meaning")
	}
	if got := mustLoad(t, "chunks = \"drop\"\n"+mixes).Hash; got != none {
		t.Error("what is so by default changes the meaning")
	}
	seen := map[string]string{none: "none"}
	for _, text := range []string{
		"[tags]\nalbum = \"x\"", "[tags]\nartist = \"x\"", "[track.\"03 lamp\".tags]\ntitle = \"x\"",
		"[track.\"01 tide\".tags]\ntitle = \"x\"",
	} {
		hash := mustLoad(t, mixes+text).Hash
		if other, twice := seen[hash]; twice {
			t.Errorf("%q means the same as %q", text, other)
		}
		seen[hash] = text
	}
	if hash := mustLoad(t, "chunks = \"keep\"\n"+mixes).Hash; seen[hash] != "" {
		t.Error("chunks = \"keep\" changes nothing")
	}
}

func TestChunksOfDeliveries(t *testing.T) {
	inHarbour(t)
	r := mustLoad(t, "chunks = \"keep\"\n"+mixes+"[[delivery]]\nname = \"shop\"\ncontainer = \"flac\"\n"+
		"[[delivery]]\nname = \"disc\"\n")
	for _, x := range r.Renders {
		if want := x.Delivery != "shop"; x.KeepChunks != want {
			t.Errorf("%s keeps chunks: %v, want %v", x.Label(), x.KeepChunks, want)
		}
	}
}

func TestProblemsOfTags(t *testing.T) {
	inHarbour(t)
	const track = "[track.\"03 lamp\".tags]\n"
	long := strings.Repeat("å", 257)
	for name, c := range map[string]struct{ text, want string }{
		"no table": {
			"tags = 3", `2: tags = 3 is a whole number; want a table of tags, such as album = "..."`,
		},
		"unknown": {"[tags]\nalbun = \"x\"", `3: [tags] has no key "albun"; did you mean "album"?`},
		"a track's": {
			"[tags]\nisrc = \"x\"", `3: [tags] has no key "isrc"; it belongs under [track."NAME".tags]`,
		},
		"the record's": {
			track + "album = \"x\"", `3: [track."03 lamp".tags] has no key "album"; it belongs under [tags]`,
		},
		"of a variant": {
			"[variant.soft]\ntags.title = \"x\"", `3: [variant.soft]: no stage is named "tags"`,
		},
		"no text": {
			"[tags]\nalbum = 3", `3: [tags] album = 3 is a whole number; want a string in quotes`,
		},
		"empty": {
			"[tags]\nalbum = \"\"", `3: [tags] album = "" is empty; leave the key out or give it a text`,
		},
		"control characters": {
			"[tags]\nalbum = \"a\\nb\"", `3: [tags] album = "a\nb" has control characters; want plain text`,
		},
		"long title": {
			track + "title = \"" + long + "\"", `3: [track."03 lamp".tags] title = "` + strings.Repeat("å", 63) +
				` ... has 257 characters; want at most 256, as the field of a WAV file has`,
		},
		"long number": {
			"[tags]\ncatalogue_number = \"123456789012345678901234567890123\"",
			`3: [tags] catalogue_number = "123456789012345678901234567890123" has 33 characters; want at most 32, ` +
				`as the field of a WAV file has`,
		},
		"no date": {
			"[tags]\ndate = \"27.11.2026\"",
			`3: [tags] date = "27.11.2026" is no date; want a year, a month or a day, such as "2026", "2026-11" or ` +
				`"2026-11-29"`,
		},
		"no such day": {
			"[tags]\ndate = \"2026-02-29\"",
			`3: [tags] date = "2026-02-29" is no date; want a year, a month or a day, such as "2026", "2026-11" or ` +
				`"2026-11-29"`,
		},
		"a date in a number": {
			"[tags]\ndate = 2026", `3: [tags] date = 2026 is a whole number; want a year, a month or a day, such as ` +
				`"2026", "2026-11" or "2026-11-29", in quotes`,
		},
		"number 0": {
			track + "number = 0",
			`3: [track."03 lamp".tags] number = 0 is out of range; want a whole number from 1 to 999`,
		},
		"number no number": {
			track + "number = \"A1\"", `3: [track."03 lamp".tags] number = "A1" is a string; want a whole number`,
		},
		"isrc short": {
			track + "isrc = \"AA6Q7200004\"",
			`3: [track."03 lamp".tags] isrc = "AA6Q7200004" is 11 long without hyphens, and an ISRC is 12; want two ` +
				`capital letters, three capital letters or digits, and seven digits, such as "AA-6Q7-26-00001"`,
		},
		"isrc with an accent": {
			track + "isrc = \"ÄA6Q72000047\"",
			`3: [track."03 lamp".tags] isrc = "ÄA6Q72000047" is no ISRC; want two capital letters, three capital ` +
				`letters or digits, and seven digits, such as "AA-6Q7-26-00001"`,
		},
		"isrc small": {
			track + "isrc = \"aa-6q7-20-00047\"",
			`3: [track."03 lamp".tags] isrc = "aa-6q7-20-00047" has small letters, an ISRC none; want ` +
				`"AA-6Q7-20-00047"`,
		},
		"isrc of digits": {
			track + "isrc = \"1A6Q72000047\"",
			`3: [track."03 lamp".tags] isrc = "1A6Q72000047" is no ISRC; want two capital letters, three capital ` +
				`letters or digits, and seven digits, such as "AA-6Q7-26-00001"`,
		},
		"isrc with a letter": {
			track + "isrc = \"AA6Q7200O047\"",
			`3: [track."03 lamp".tags] isrc = "AA6Q7200O047" is no ISRC; want two capital letters, three capital ` +
				`letters or digits, and seven digits, such as "AA-6Q7-26-00001"`,
		},
		"isrc hyphens": {
			track + "isrc = \"AA6-Q7-20-00047\"",
			`3: [track."03 lamp".tags] isrc = "AA6-Q7-20-00047" has hyphens elsewhere than an ISRC; want two ` +
				`capital letters, three capital letters or digits, and seven digits, such as "AA-6Q7-26-00001"`,
		},
		"isrc twice": {
			track + "isrc = \"AA6Q72000047\"\n[track.\"01 tide\".tags]\nisrc = \"AA-6Q7-20-00047\"",
			`4: [track."01 tide"]: tags: isrc "AA6Q72000047" is that of [track."03 lamp"] at line 2; want one for ` +
				`each recording`,
		},
		"ean's check digit": {
			"[tags]\nean = \"6291041500214\"",
			`3: [tags] ean = "6291041500214" ends with the check digit 4, but the others want 3; compare it with ` +
				`the bar code`,
		},
		"ean with blanks": {
			"[tags]\nean = \"6 291041 500213\"",
			`3: [tags] ean = "6 291041 500213" has other characters than digits; want the thirteen digits under ` +
				`the bar code`,
		},
		"ean of a UPC": {
			"[tags]\nean = \"036000291452\"",
			`3: [tags] ean = "036000291452" has 12 digits, those of a UPC; want "0036000291452", the EAN of it`,
		},
		"ean short": {
			"[tags]\nean = \"62910415\"",
			`3: [tags] ean = "62910415" has 8 digits; want the thirteen under the bar code`,
		},
		"ean no text": {
			"[tags]\nean = 6291041500213", `3: [tags] ean = 6291041500213 is a whole number; want a string in quotes`,
		},
		"chunks": {"chunks = \"all\"", `2: chunks = "all" is not known; want "drop" or "keep"`},
		"no such track": {
			"[track.\"04 x\".tags]\ntitle = \"x\"",
			`2: [track."04 x"]: no track is named "04 x"; the tracks are "01 tide", "02 breakwater" and "03 lamp"`,
		},
		"a stage of the name": {
			"[[stage]]\nkind = \"gain\"\nname = \"tags\"\ngain_db = 1",
			`4: stage 1: name = "tags" is taken: boundary 0 is named source, skip leaves stages out, and tags are a ` +
				`track's texts; want another name`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
}

// The examples of the GS1 and UPC specifications, of the manual of ISBN (ISO 2108), and of the handbook of
// ISRC.
func TestNumbersOfOthers(t *testing.T) {
	for _, ean := range []string{"6291041500213", "9780306406157", "0036000291452"} {
		if fault := eanFault(ean); fault != "" {
			t.Errorf("EAN %s %s", ean, fault)
		}
		for i := range ean { // a digit that is read wrong is noticed, whichever it is
			for d := byte('0'); d <= '9'; d++ {
				if wrong := ean[:i] + string(d) + ean[i+1:]; wrong != ean && eanFault(wrong) == "" {
					t.Errorf("EAN %s passes for %s", wrong, ean)
				}
			}
		}
	}
	for _, isrc := range []string{"AA-6Q7-20-00047", "AA6Q72000047", "USS1Z9900001"} {
		if fault := isrcFault(isrc); fault != "" {
			t.Errorf("ISRC %s %s", isrc, fault)
		}
	}
}
