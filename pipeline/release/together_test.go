package release

import "testing"

// Meters of the true peak cannot be had of a hold that does not hold it, in whatever chain.
func TestProblemsOfReadBy(t *testing.T) {
	inHarbour(t)
	const hold = "[[stage]]\nkind = \"ceiling_hold\"\nname = \"hold\"\nceiling_dbfs = -1\n"
	const sample = `read_by has meters of the true peak, which peak = "sample" does not hold; want read_by = ` +
		`["exact"], or peak = "true"`
	const plain = `read_by has meters of the true peak, which method = "plain" does not hold; want read_by = ` +
		`["exact"], or method = "band_limited"`
	for name, c := range map[string]struct{ text, want string }{
		"sample": {hold + "peak = \"sample\"\nread_by = [\"sinc49\"]", `2: stage "hold": ` + sample},
		"plain":  {hold + "method = \"plain\"\nread_by = [\"exact\", \"bs1770\"]", `2: stage "hold": ` + plain},
		"variant": {
			hold + "read_by = [\"bs1770\"]\n[variant.loose]\nhold.peak = \"sample\"",
			`2: [variant.loose]: stage "hold": ` + sample,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
}
