package pipeline

import (
	"testing"

	"ledgerline/stages"
)

func TestRenderGoesDownTheChain(t *testing.T) {
	d := ferryDesk(t)
	out := d.render(Options{Jobs: 2})
	if got := states(out); got != "01 quay rendered, 02 breakwater rendered, 03 lantern rendered" {
		t.Errorf("states: %s", got)
	}
	in, got := d.samples("mixes/02 breakwater.wav"), d.samples("masters/02 breakwater.wav")
	gain, ceiling, step := stages.Linear(4), stages.Linear(-1), 1.0/(1<<24)
	for c := range in {
		for i, x := range in[c] {
			want := min(max(x*gain, -ceiling), ceiling)
			if d := got[c][i] - want; d > step || d < -step {
				t.Fatalf("channel %d frame %d: %v, want %v within half a step of 24 bits", c, i, got[c][i], want)
			}
		}
	}
	if out.Failed() != 0 || out.RequirementsFailed() != 0 {
		t.Errorf("%d failed, %d requirements not met", out.Failed(), out.RequirementsFailed())
	}
}
