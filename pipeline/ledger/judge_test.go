package ledger

import (
	"testing"

	"ledgerline/stages"
)

// Every requirement that a measure stage knows can be judged and printed.
func TestEveryRequirement(t *testing.T) {
	kind, _ := stages.KindNamed("measure")
	if len(kind.Keys) == 0 {
		t.Fatal("a measure stage knows no requirement")
	}
	for _, key := range kind.Keys {
		if figureOf[key.Name] == nil {
			t.Errorf("no figure for %s", key.Name)
		}
		if wishes[key.Name].what == "" {
			t.Errorf("no words for %s", key.Name)
		}
	}
}

func TestJudge(t *testing.T) {
	at := func(peak, loudness float64) Boundary {
		return NewBoundary(1, "delivery", point{peak: peak, truePeak: peak + 0.5, loudness: loudness}.reading(),
			ferryRate, -1)
	}
	quiet := silence().Boundaries[0]
	whole := &Whole{
		Cutting: Cutting{RemovedDB: Level(-19.9), ClippedPercent: 2.5}, Audibility: heardAs(-14.2, 0.8),
	}
	for _, tt := range []struct {
		name   string
		b      Boundary
		key    string
		wanted any
		overs  int64
		passed bool
		text   string
	}{
		{
			"peak at the limit", at(-1, -14), "sample_peak_max_dbfs", -1.0, 0, true,
			"sample peak -1.0000 dBFS, limit -1.0000",
		},
		{
			"peak a hair over, as printed equal", at(-0.99996, -14), "sample_peak_max_dbfs", -1.0, 0, true,
			"sample peak -1.0000 dBFS, limit -1.0000",
		},
		{
			"limit finer than the record", at(-1.00009, -14), "sample_peak_max_dbfs", -1.00006, 0, true,
			"sample peak -1.0001 dBFS, limit -1.0001",
		},
		{
			"peak over", at(-0.9999, -14), "sample_peak_max_dbfs", -1.0, 0, false,
			"sample peak -0.9999 dBFS, limit -1.0000",
		},
		{
			"true peak over", at(-1.2, -14), "true_peak_max_dbtp", -1.0, 0, false,
			"true peak -0.7000 dBTP, limit -1.0000",
		},
		{
			"loud enough", at(-1, -14), "loudness_min_lufs", -14.0, 0, true,
			"loudness -14.0000 LUFS, least allowed -14.0000",
		},
		{
			"too quiet", at(-1, -14.2), "loudness_min_lufs", -14.0, 0, false,
			"loudness -14.2000 LUFS, least allowed -14.0000",
		},
		{"too loud", at(-1, -8.5), "loudness_max_lufs", -9.0, 0, false, "loudness -8.5000 LUFS, limit -9.0000"},
		{"range", at(-1, -14), "loudness_range_max_lu", 3.0, 0, false, "loudness range 3.2000 LU, limit 3.0000"},
		{"overs", at(-1, -14), "overs_max", int64(4), 5, false, "overs 5, limit 4"},
		{"overs at the limit", at(-1, -14), "overs_max", int64(5), 5, true, "overs 5, limit 5"},
		{"removed", at(-1, -14), "removed_max_db", -20.0, 0, false, "removed -19.9000 dB, limit -20.0000"},
		{"clipped", at(-1, -14), "clipped_max_percent", 2.5, 0, true, "clipped 2.5000 %, limit 2.5000"},
		{
			"noise to mask", at(-1, -14), "noise_to_mask_max_db", -15.0, 0, false,
			"noise to mask -14.2000 dB, limit -15.0000",
		},
		{"disturbed", at(-1, -14), "disturbed_max_percent", 0.5, 0, false, "disturbed 0.8000 %, limit 0.5000"},
		{
			"silence has no peak to pass", quiet, "sample_peak_max_dbfs", -1.0, 0, true,
			"sample peak none, limit -1.0000",
		},
		{
			"silence has no range to pass", quiet, "loudness_range_max_lu", 3.0, 0, true,
			"loudness range none, limit 3.0000",
		},
		{
			"silence is not loud enough", quiet, "loudness_min_lufs", -70.0, 0, false,
			"loudness none, least allowed -70.0000",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := Judge(stages.Requiring("delivery", stages.Settings{tt.key: tt.wanted}), tt.b, ShortReadings{},
				tt.overs, whole)
			if len(got) != 1 {
				t.Fatalf("%d requirements", len(got))
			}
			if r := got[0]; r.Passed != tt.passed || r.String() != tt.text || r.Key != tt.key ||
				r.Stage != "delivery" {
				t.Errorf("got %+v: %s, want %v: %s", r, r, tt.passed, tt.text)
			}
		})
	}
}

func TestJudgeOrder(t *testing.T) {
	s := stages.Settings{"overs_max": int64(0), "loudness_max_lufs": -9.0, "sample_peak_max_dbfs": -1.0}
	got := Judge(stages.Requiring("delivery", s), silence().Boundaries[0], ShortReadings{}, 0, &Whole{})
	for i, want := range []string{"sample_peak_max_dbfs", "loudness_max_lufs", "overs_max"} {
		if i >= len(got) || got[i].Key != want {
			t.Fatalf("requirement %d of %+v is not %s", i, got, want)
		}
	}
}
