package stages_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"ledgerline/stages"
)

func TestWordList(t *testing.T) {
	for _, c := range []struct {
		list                stages.WordList
		json, told, written string
	}{
		{
			stages.NewWordList([]string{"exact", "bs1770"}), `["exact","bs1770"]`, "[exact, bs1770]",
			`["exact", "bs1770"]`,
		},
		{stages.NewWordList([]string{"sinc49"}), `["sinc49"]`, "[sinc49]", `["sinc49"]`},
		{stages.NewWordList(nil), `[]`, "[]", "[]"},
	} {
		text, err := json.Marshal(c.list)
		if got := [3]string{string(text), fmt.Sprint(c.list), fmt.Sprintf("%#v", c.list)}; err != nil ||
			got != [3]string{c.json, c.told, c.written} {
			t.Errorf("%q, %v; want %s, %s, %s", got, err, c.json, c.told, c.written)
		}
	}
	if l := stages.WordList("exact, bs1770"); !l.Has("bs1770") || l.Has("sinc49") || l.Has("exact, bs1770") ||
		stages.WordList("").Has("") {
		t.Error("a list has other words than it was made of")
	}
}
