package main

import (
	"testing"

	"ledgerline/pipeline"
)

func TestResultsAreCounted(t *testing.T) {
	of := func(states ...pipeline.State) (all []pipeline.Result) {
		for _, s := range states {
			all = append(all, pipeline.Result{State: s})
		}
		return all
	}
	const r, k, f, i = pipeline.Rendered, pipeline.Kept, pipeline.Failed, pipeline.Interrupted
	for _, tt := range []struct {
		all           []pipeline.Result
		ended, halted string
	}{
		{of(), "nothing to render", "0 rendered, 0 kept, 0 left"},
		{of(r, r, k, r), "3 rendered, 1 up to date", "3 rendered, 1 kept, 0 left"},
		{of(r, i, i, r, k), "2 rendered, 1 up to date", "2 rendered, 1 kept, 2 left"},
		{of(f, i), "1 FAILED", "0 rendered, 0 kept, 1 left, 1 FAILED"},
	} {
		if got := results(tt.all); got != tt.ended {
			t.Errorf("got %q, want %q", got, tt.ended)
		}
		if got := halted(tt.all); got != tt.halted {
			t.Errorf("got %q, want %q", got, tt.halted)
		}
	}
}
