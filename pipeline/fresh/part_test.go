package fresh

import (
	"encoding/hex"
	"fmt"
	"math/big"
	"testing"
)

// A track is in one part of any number of parts. Which one is the remainder of its name's SHA-256; that of
// "abc" is in FIPS 180-2, appendix B.1.
func TestATrackIsInOnePart(t *testing.T) {
	digest, _ := hex.DecodeString("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")
	for _, n := range []int{1, 2, 3, 7, 8, 1000, MostParts} {
		want := int(new(big.Int).Mod(new(big.Int).SetBytes(digest), big.NewInt(int64(n))).Int64()) + 1
		for k := 1; k <= n; k++ {
			if got := (Part{k, n}).Has("abc"); got != (k == want) {
				t.Errorf("%q is in part %d of %d: %t, want it in part %d alone", "abc", k, n, got, want)
			}
		}
	}
	if !(Part{}).Has("abc") {
		t.Error("the whole release does not have a track")
	}
}

func TestParsePart(t *testing.T) {
	for _, p := range []Part{{1, 1}, {3, 8}, {8, 8}, {1, MostParts}} {
		if got, err := ParsePart(p.String()); err != nil || got != p {
			t.Errorf("%q is %v, %v", p.String(), got, err)
		}
		if !isJournal(JournalOf(p)) {
			t.Errorf("%q is no journal", JournalOf(p))
		}
	}
	for _, text := range []string{
		"", "3", "/", "3/", "/8", "0/8", "9/8", "-1/8", "3/8/1", "3 /8", "a/b", fmt.Sprintf("1/%d", MostParts+1),
	} {
		if p, err := ParsePart(text); err == nil {
			t.Errorf("%q is taken for %v", text, p)
		}
	}
	for _, name := range []string{
		"ledgerline-journal.jsonl", ".ledgerline-journal-unread.jsonl", ".ledgerline-journal-3-8-unread.jsonl",
		".ledgerline-journal-03-8.jsonl", ".ledgerline-journal-9-8.jsonl", ".ledgerline-journal-3-8.jsonl.bak",
		".ledgerline-journal-3-8",
	} {
		if isJournal(name) {
			t.Errorf("%q is taken for a journal", name)
		}
	}
	if !isJournal(JournalOf(Part{})) || JournalOf(Part{}) != JournalName {
		t.Error("the journal of the whole release is not known")
	}
}
