package main

import "testing"

func TestLinesAreBrokenBetweenWords(t *testing.T) {
	for _, tt := range []struct {
		line  string
		width int
		want  string
	}{
		{"loudness -11.45 -> -11.93 LUFS", 30, "loudness -11.45 -> -11.93 LUFS"},
		{"loudness -11.45 -> -11.93 LUFS", 29, "loudness -11.45 -> -11.93|LUFS"},
		{"loudness -11.45 -> -11.93 LUFS", 20, "loudness -11.45 ->|-11.93 LUFS"},
		{"夜のフェリー was rendered", 16, "夜のフェリー was|rendered"},
		{"averylongword", 5, "averylongword"},
		{"", 5, ""},
	} {
		if got := brokenAt(tt.line, tt.width, "|"); got != tt.want {
			t.Errorf("%q in %d columns: got %q, want %q", tt.line, tt.width, got, tt.want)
		}
	}
}
