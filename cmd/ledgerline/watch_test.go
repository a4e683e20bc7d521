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

func TestTextIsFittedToATerminal(t *testing.T) {
	text := "chain\n  5  delivery  measure  peak_max" + glue + "-1, loudness" + glue + "-14, overs_max" +
		glue + "0\n"
	whole := "chain\n  5  delivery  measure  peak_max -1, loudness -14, overs_max 0\n"
	for columns, want := range map[int]string{
		0:  whole,
		80: whole,
		40: "chain\n  5  delivery  measure\n      peak_max -1, loudness -14,\n      overs_max 0\n",
	} {
		if got := fitted(text, columns); got != want {
			t.Errorf("%d columns: got %q, want %q", columns, got, want)
		}
	}
}
