package release

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestNotes(t *testing.T) {
	inHarbour(t)
	const (
		hold     = "[[stage]]\nkind = \"ceiling_hold\"\nname = \"hold\"\nceiling_dbfs = -1\n"
		dith     = "[[stage]]\nkind = \"dither\"\nbits = 16\n"
		gain     = "[[stage]]\nkind = \"gain\"\ngain_db = "
		clip     = "[[stage]]\nkind = \"oversampled_clip\"\nname = \"clip\"\nceiling_dbfs = -1\n"
		resample = "[[stage]]\nkind = \"resample\"\nrate_hz = 48000\n"
	)
	for name, c := range map[string]struct {
		text string // after the sources and an [output] in line 2
		want []string
	}{
		"no stage": {"", []string{"2: the chain has no stage: the mixes are only written in another encoding",
			"2: no dither stage before pcm24: samples are rounded to the nearest code"}},
		"no dither": {
			hold, []string{"2: no dither stage before pcm24: samples are rounded to the nearest code"},
		},
		"no dither, named": {
			"encoding = \"pcm16\"\n" + hold, []string{
				"3: no dither stage before pcm16: samples are rounded to the nearest code",
			},
		},
		"no dither before fp": {"encoding = \"float32\"\n" + hold, nil},
		"fewer bits":          {dith, []string{`3: stage "dither" dithers to 16 bits and the files have 24`}},
		"more bits": {
			"encoding = \"pcm16\"\n[[stage]]\nkind = \"dither\"\nbits = 24\n", []string{
				`4: stage "dither" dithers to 24 bits and the files have 16: samples are rounded once more, ` +
					`without dither`,
			},
		},
		"the same bits":  {"encoding = \"pcm16\"\n" + dith, nil},
		"bits before fp": {"encoding = \"float64\"\n" + dith, nil},
		"clip after the hold": {
			"encoding = \"float32\"\n" + hold + "[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = -1\n",
			[]string{`4: stage "hold" holds the ceiling before the clip "hard_clip"; a hold is usually after it`},
		},
		"clip between holds": {
			"encoding = \"float32\"\n" + hold + "[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = -1\n" +
				strings.Replace(hold, "\"hold\"", "\"last\"", 1), []string{
				`4: stage "hold" holds the ceiling before the clip "hard_clip"; a hold is usually after it`,
			},
		},
		"gain after the hold": {
			"encoding = \"float32\"\n" + hold + "[[stage]]\nkind = \"gain\"\ngain_db = 0.1\n",
			[]string{`8: stage "gain" lifts what "hold" holds; samples may pass its ceiling`},
		},
		"read_by and a gain": {"encoding = \"float32\"\n" + hold + "read_by = [\"sinc49\"]\n[[stage]]\n" +
			"kind = \"gain\"\ngain_db = 0.1\n", []string{
			`4: stage "hold": read_by is not in force, as stage "gain" after it may raise peaks`,
			`9: stage "gain" lifts what "hold" holds; samples may pass its ceiling`}},
		"read_by before a hold": {
			"encoding = \"float32\"\n" + hold + "read_by = [\"exact\", \"bs1770\"]\n" +
				strings.Replace(hold, "\"hold\"", "\"last\"", 1), []string{
				`4: stage "hold": read_by is not in force, as stage "last" after it may raise peaks`,
			},
		},
		"read_by at the end": {
			"encoding = \"float32\"\n" + hold + "read_by = [\"bs1770\"]\n" + gain +
				"-6\n[[stage]]\nkind = \"measure\"\n", nil,
		},
		"exact, and a gain": {
			"encoding = \"float32\"\n" + hold + "read_by = [\"exact\"]\n" + gain + "1\n",
			[]string{`9: stage "gain" lifts what "hold" holds; samples may pass its ceiling`},
		},
		"lower after the hold": {
			"encoding = \"float32\"\n" + hold + "[[stage]]\nkind = \"gain\"\ngain_db = -0.1\n", nil,
		},
		"gain after dither": {
			"encoding = \"pcm16\"\n" + dith + "[[stage]]\nkind = \"gain\"\ngain_db = 0.1\n",
			[]string{`7: stage "gain" is after the dither "dither" and undoes its rounding; dither is usually last`},
		},
		"measure after dither": {"encoding = \"pcm16\"\n" + dith + "[[stage]]\nkind = \"measure\"\n", nil},
		"dither passes": {"encoding = \"pcm16\"\n" + hold + dith, []string{
			`8: stage "dither" may pass the ceiling of "hold" by up to one and a half codes; ceiling_dbfs = -1 in ` +
				`it would hold it`}},
		"rectangular passes": {"encoding = \"pcm16\"\n" + hold + dith + "density = \"rectangular\"\n", []string{
			`8: stage "dither" may pass the ceiling of "hold" by up to a code; ceiling_dbfs = -1 in it ` +
				`would hold it`}},
		"rounding passes": {"encoding = \"pcm16\"\n" + hold + dith + "density = \"none\"\nceiling_dbfs = -0.5\n",
			[]string{
				`8: stage "dither" may pass the ceiling of "hold" by up to half a code; ceiling_dbfs = -1 in it ` +
					`would hold it`}},
		"dither with a ceiling": {"encoding = \"pcm16\"\n" + hold + dith + "ceiling_dbfs = -1\n", nil},
		"dither to clip": {
			"encoding = \"pcm16\"\n" + dith + "ceiling_dbfs = -1\n", []string{
				`4: stage "dither": nothing before it keeps its ceiling of -1 dBFS, so it may have to clip, and a ` +
					`dither is no clipper; put a ceiling_hold before it`,
			},
		},
		"dither below the hold": {
			"encoding = \"pcm16\"\n" + hold + dith + "ceiling_dbfs = -1.5\n", []string{
				`8: stage "dither": nothing before it keeps its ceiling of -1.5 dBFS, so it may have to clip, and a ` +
					`dither is no clipper; put a ceiling_hold before it`,
			},
		},
		"dither below two": {"encoding = \"pcm16\"\n" + strings.Replace(hold, "-1", "-3", 1) +
			strings.Replace(hold, "\"hold\"", "\"last\"", 1) + gain + "1.5\n" + dith + "ceiling_dbfs = -1.5\n",
			[]string{
				`12: stage "gain" lifts what "last" holds; samples may pass its ceiling`}},
		"dither after a gain": {"encoding = \"pcm16\"\n" + hold + gain + "0.5\n" + dith + "ceiling_dbfs = -1\n",
			[]string{
				`8: stage "gain" lifts what "hold" holds; samples may pass its ceiling`,
				`11: stage "dither": nothing before it keeps its ceiling of -1 dBFS, so it may have to clip, and a ` +
					`dither is no clipper; put a ceiling_hold before it`}},
		"dither after less": {"encoding = \"pcm16\"\n" + strings.Replace(hold, "-1", "-1.1", 1) + gain + "0.1\n" +
			dith + "ceiling_dbfs = -1\n", []string{
			`8: stage "gain" lifts what "hold" holds; samples may pass its ceiling`,
			`11: stage "dither" may pass the ceiling of "hold" by up to one and a half codes; ceiling_dbfs = -1.1 ` +
				`in it would hold it`}},
		"dither after a clip": {
			"encoding = \"pcm16\"\n" + clip + dith + "ceiling_dbfs = -1\n", []string{
				`8: stage "dither" would clip what passes the ceiling of "clip" on the way back from clipping, and a ` +
					`dither is no clipper; put a ceiling_hold between them`,
			},
		},
		"dither above a clip": {
			"encoding = \"pcm16\"\n" + clip + dith + "ceiling_dbfs = -0.5\n", []string{
				`4: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"dither after a hard one": {
			"encoding = \"pcm16\"\n" + strings.Replace(clip, "oversampled", "hard", 1) + dith + "ceiling_dbfs = -1\n",
			nil,
		},
		"dither of what is up": {
			"encoding = \"pcm16\"\n" + gain + "6\n" + dith, []string{
				`7: stage "dither": the gain before it may take peaks over full scale, so it may have to clip, and a ` +
					`dither is no clipper; put a ceiling_hold before it`,
			},
		},
		"dither of what is down": {"encoding = \"pcm16\"\n" + gain + "-6\n" + dith, nil},
		"dither of many bits":    {hold + "[[stage]]\nkind = \"dither\"\nbits = 24\n", nil},
		"a variant": {"encoding = \"pcm16\"\n" + dith + "[variant.plain]\nskip = [\"dither\"]\n[variant.same]\n" +
			"[variant.wide]\ndither.bits = 20\n", []string{
			"3: [variant.plain]: the chain has no stage: the mixes are only written in another encoding",
			"3: [variant.plain]: no dither stage before pcm16: samples are rounded to the nearest code",
			`4: [variant.wide]: stage "dither" dithers to 20 bits and the files have 16: samples are rounded once ` +
				`more, without dither`,
			"9: [variant.same]: changes nothing"}},
		"a track": {"encoding = \"pcm16\"\n" + dith + "[track.\"03 lamp\"]\ndither.bits = 15\n[variant.even]\n" +
			"dither.density = \"rectangular\"\n", []string{
			`4: [track."03 lamp"]: stage "dither" dithers to 15 bits and the files have 16`}},
		"a track over a variant": {"encoding = \"pcm16\"\n" + dith +
			"[variant.even]\ndither.density = \"rectangular\"\n[variant.wide.dither]\nbits = 15\nseed = 3\n" +
			"[track.\"03 lamp\".dither]\nseed = 3\ndensity = \"none\"\nbits = 16\n[track.\"01 tide\"]\n" +
			"dither.bits = 16\n[variant.without]\nskip = [\"dither\"]\ndither.bits = 15", []string{
			"3: [variant.without]: the chain has no stage: the mixes are only written in another encoding",
			"3: [variant.without]: no dither stage before pcm16: samples are rounded to the nearest code",
			`4: [variant.wide]: stage "dither" dithers to 15 bits and the files have 16`,
			`12: [track."03 lamp"]: stage "dither": density = "none" is used in [variant.even] too, instead of its ` +
				`"rectangular"`,
			`12: [track."03 lamp"]: stage "dither": bits = 16 is used in [variant.wide] too, instead of its 15`,
			`16: [track."01 tide"]: stage "dither": bits = 16 is used in [variant.wide] too, instead of its 15`}},
		"a track over many variants": {"encoding = \"float32\"\n" + hold +
			"[variant.a]\nhold.ceiling_dbfs = -2\n[variant.b]\nhold.ceiling_dbfs = -3\nhold.peak = \"true\"\n" +
			"[variant.c]\nhold.ceiling_dbfs = -4\n[variant.d]\nhold.ceiling_dbfs = -5\n" +
			"[track.\"03 lamp\".hold]\nceiling_dbfs = -4\npeak = \"sample\"\n", []string{
			`17: [track."03 lamp"]: stage "hold": ceiling_dbfs = -4 is used in [variant.a] (and 2 more) too, ` +
				`instead of its -2`,
			`17: [track."03 lamp"]: stage "hold": peak = "sample" is used in [variant.b] too, instead of its "true"`}},
		"a track's list over a variant's": {"encoding = \"float32\"\n" + hold +
			"[variant.a]\nhold.read_by = [\"sinc49\"]\n[track.\"03 lamp\".hold]\nread_by = [\"bs1770\", \"exact\"]\n",
			[]string{
				`10: [track."03 lamp"]: stage "hold": read_by = ["exact", "bs1770"] is used in [variant.a] ` +
					`too, instead ` +
					`of its ["sinc49"]`}},
		"a track of another kind": {"encoding = \"float32\"\n[[stage]]\nkind = \"oversampled_clip\"\n" +
			"name = \"clip\"\nceiling_dbfs = -1\n[variant.plain.clip]\nkind = \"hard_clip\"\nceiling_dbfs = -2\n" +
			"[track.\"03 lamp\".clip]\nfactor = 4\n[track.\"01 tide\".clip]\nceiling_dbfs = -3\n", []string{
			`4: stage "clip" may pass its ceiling on the way back to the track's rate, and no ceiling_hold follows it`,
			`13: [track."01 tide"]: stage "clip": ceiling_dbfs = -3 is used in [variant.plain] too, ` +
				`instead of its -2`}},
		"peak of a plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\npeak = \"true\"\n",
			[]string{`9: stage "hold": peak = "true" has no effect: the method "plain" holds samples only`},
		},
		"plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\n", nil,
		},
		"peak of no plain hold": {
			"encoding = \"float32\"\n" + hold + "peak = \"sample\"\n", nil,
		},
		"variant with plain hold": {
			"encoding = \"float32\"\n" + hold + "peak = \"sample\"\n[variant.plain]\nhold.method = \"plain\"\n", nil,
		},
		"peak of a variant's plain hold": {
			"encoding = \"float32\"\n" + hold + "[variant.plain]\nhold.method = \"plain\"\nhold.peak = \"true\"\n",
			[]string{
				`10: [variant.plain]: stage "hold": peak = "true" has no effect: the method "plain" holds samples only`,
			},
		},
		"variant without a plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\npeak = \"true\"\n[variant.banded]\n" +
				"hold.method = \"band_limited\"\n", nil,
		},
		"peak beaten in the variant without a plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\npeak = \"true\"\n[variant.banded]\n" +
				"hold.method = \"band_limited\"\nhold.peak = \"sample\"\n", []string{
				`9: stage "hold": peak = "true" has no effect: the method "plain" holds samples only`,
			},
		},
		"track with plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\n[track.\"03 lamp\"]\nhold.peak = \"true\"\n",
			[]string{
				`10: [track."03 lamp"]: stage "hold": peak = "true" has no effect: the method "plain" holds samples only`,
			},
		},
		"track with plain hold but in a variant": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\n[track.\"03 lamp\"]\nhold.peak = \"true\"\n" +
				"[variant.banded]\nhold.method = \"band_limited\"\n", nil,
		},
		"track without a plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\npeak = \"true\"\n[track.\"03 lamp\"]\n" +
				"hold.method = \"band_limited\"\n", nil,
		},
		"clip without a hold": {
			"encoding = \"float32\"\n" + clip, []string{
				`4: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"masked clip without a hold": {
			"encoding = \"float32\"\n[[stage]]\nkind = \"masked_clip\"\nceiling_dbfs = -1\n",
			[]string{
				`4: stage "masked_clip" leaves what its pulses cannot take down over its ceiling, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"masked clip with a hold": {
			"encoding = \"float32\"\n[[stage]]\nkind = \"masked_clip\"\nceiling_dbfs = -1\n" + hold, nil,
		},
		"two clips without a hold": {
			"encoding = \"float32\"\n" + clip + "[[stage]]\nkind = \"oversampled_clip\"\nceiling_dbfs = -2\n",
			[]string{
				`8: stage "oversampled_clip" may pass its ceiling on the way back to the track's rate, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"a change of rate": {"encoding = \"pcm16\"\nremoved = true\n" + gain + "-1\n" + clip + hold + resample +
			dith + "ceiling_dbfs = -1\n[[stage]]\nkind = \"measure\"\nremoved_max_db = -20\n", []string{
			`16: stage "resample" may raise peaks, as every change of rate does, and no ceiling_hold follows it`,
			`16: stage "resample" changes the rate on the way: what the chain removed is not written`,
			`19: stage "dither": nothing before it keeps its ceiling of -1 dBFS, so it may have to clip, and a ` +
				`dither is no clipper; put a ceiling_hold before it`,
			`23: stage "measure": removed_max_db is not measured of a chain with a change of rate in it, and ` +
				`fails nothing`}},
		"a change of rate with a hold": {
			"encoding = \"pcm16\"\n" + clip + resample + hold + dith + "ceiling_dbfs = -1\n", nil,
		},
		"a change of rate first": {
			"encoding = \"pcm16\"\nremoved = true\n" + resample + clip + hold + dith +
				"ceiling_dbfs = -1\n[[stage]]\nkind = \"measure\"\nremoved_max_db = -20\n", nil,
		},
		"a change of rate after dither": {"encoding = \"pcm16\"\n" + clip + hold + dith + "ceiling_dbfs = -1\n" +
			resample + strings.Replace(hold, "\"hold\"", "\"last\"", 1), []string{
			`16: stage "resample" is after the dither "dither" and undoes its rounding; dither is usually last`}},
		"clip with a hold": {"encoding = \"float32\"\n" + clip + hold, nil},
		"clip without a hold in a variant": {
			"encoding = \"float32\"\n" + clip + hold + "[variant.bare]\nskip = [\"hold\"]\n",
			[]string{
				`4: [variant.bare]: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"clip without a hold in tracks": {"encoding = \"float32\"\n" + clip + hold +
			"[track.\"01 tide\"]\nskip = [\"hold\"]\n[track.\"03 lamp\"]\nskip = [\"hold\"]\n", []string{
			`4: [track."01 tide"]: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
				`ceiling_hold follows it`}},
		"limits that exclude": {"encoding = \"float32\"\n[[stage]]\nkind = \"measure\"\nloudness_min_lufs = -9\n" +
			"loudness_max_lufs = -14\n", []string{
			`4: stage "measure" asks for at least -9 and at most -14 LUFS, which nothing passes`}},
	} {
		t.Run(name, func(t *testing.T) {
			for i := range c.want {
				c.want[i] = "release.toml:" + c.want[i]
			}
			r := mustLoad(t, mixes+"[output]\n"+c.text)
			if diff := cmp.Diff(c.want, r.Notes); diff != "" {
				t.Errorf("notes (-want +got):\n%s", diff)
			}
		})
	}
}
