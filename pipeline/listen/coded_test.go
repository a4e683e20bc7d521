package listen_test

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"ledgerline/pipeline/coder/codertest"
)

// quoted is a list of strings as a release file has it.
func quoted(all []string) string {
	text, _ := json.Marshal(all)
	return string(text)
}

// A delivery is heard as it comes back from its coders: at the place of the delivery's own frames, however
// late it comes, at the loudness of the others, and bit for bit where the coder changes nothing. A coder
// that fails is left out, and it is said why.
func TestDeliveriesThroughCoders(t *testing.T) {
	codertest.Use(t, codertest.Version)
	coder := func(name, way string, args ...string) string {
		encode := codertest.Program("copy", "{in}", "{out}.bin")
		decode := codertest.Program(way, append(args, "{out}.bin", "{back}")...)
		return "[[delivery.coder]]\nname = \"" + name + "\"\nencode = " + quoted(encode) +
			"\ndecode = " + quoted(decode) + "\n"
	}
	s := serve(t)
	s.options.RunCoders = true
	s.again(text + "[[delivery]]\nname = \"web\"\n" +
		coder("late", "delay", "700") + coder("half", "scale", "0.5") + coder("broken", "fail"))
	var v view
	if err := json.Unmarshal(s.get("track/2/0"), &v); err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for k, source := range v.Sources {
		at[source.Name] = k
	}
	web, late, half := at["web"], at["web through late"], at["web through half"]
	if web == 0 || late == 0 || half == 0 || at["web through broken"] != 0 {
		t.Fatalf("%+v", v)
	}
	notes := strings.Join(v.Notes, "|")
	if len(v.Notes) != 1 || !strings.HasPrefix(notes, "web through broken is left out: ") ||
		!strings.Contains(notes, "the reason") {
		t.Errorf("noted %q", v.Notes)
	}
	got := v.Sources[half].GainDB - v.Sources[web].GainDB
	if math.Abs(got-20*math.Log10(2)) > 0.005 || v.Spread > 0.01 {
		t.Errorf("half as loud is turned by %v dB more, and all are within %v LU", got, v.Spread)
	}
	for n := range blocks() {
		block := s.get("block/2/0/" + strconv.Itoa(n))
		each := len(block) / len(v.Sources)
		if !bytes.Equal(block[web*each:(web+1)*each], block[late*each:(late+1)*each]) {
			t.Fatalf("block %d of what came late is not the delivery's", n)
		}
	}
	if v.Sources[web].GainDB != v.Sources[late].GainDB ||
		v.Sources[web].SHA256 != v.Sources[late].SHA256 {
		t.Errorf("%+v and %+v", v.Sources[web], v.Sources[late])
	}
}
