package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The address is printed before anything is rendered. What a save of the release file makes is served as
// another room, and the room of before is served still.
func TestWatchServesWhatItRenders(t *testing.T) {
	folder := withAMix(t)
	file := filepath.Join(folder, "release.toml")
	save := func(gain string) {
		if err := os.WriteFile(file,
			[]byte("sources = [\"mixes/*.wav\"]\n[output]\nencoding = \"float32\"\n[[stage]]\n"+
				"kind = \"gain\"\ngain_db = "+gain+"\n"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	save("-6.0")
	out, to := io.Pipe()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() {
		ended <- (&watchVerb{Release: file, Listen: true}).run(ctx, &streams{out: to, err: os.Stderr})
		_ = to.Close()
	}()
	lines := bufio.NewReader(out)
	address := ""
	for address == "" {
		line, err := lines.ReadString('\n')
		if err != nil {
			t.Fatalf("no address: %v", <-ended)
		}
		address = regexp.MustCompile(`http://127\.0\.0\.1:\S+`).FindString(line)
	}
	go io.Copy(io.Discard, lines)
	get := func(path string) string {
		t.Helper()
		r, err := http.Get(address + path)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		text, err := io.ReadAll(r.Body)
		if err != nil || r.StatusCode != 200 {
			t.Fatalf("%s: %s %v %s", path, r.Status, err, text)
		}
		return string(text)
	}
	if got := get("next/0"); got != `{"room":1}` {
		t.Fatalf("first %s", got)
	}
	first := get("track/1/0")
	save("-3.0")
	if got := get("next/1"); got != `{"room":2}` {
		t.Fatalf("then %s", got)
	}
	loudness := regexp.MustCompile(`"name":"own chain".*?"gain_db":(-?[0-9.]+)`)
	// The mix is the louder by 6 and then by 3 dB, and is what is turned down; the master is the quietest.
	for what, text := range map[string]string{"-6": first, "-3": get("track/2/0")} {
		if !strings.Contains(text, `"name":"mix"`) || !strings.Contains(text, `"gain_db":`+what) ||
			loudness.FindStringSubmatch(text)[1] != "0" {
			t.Errorf("after %s dB: %s", what, text)
		}
	}
	if get("track/1/0") != first {
		t.Error("the room of before is another now")
	}
	cancel()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Errorf("it ends with %v", err)
	}
}
