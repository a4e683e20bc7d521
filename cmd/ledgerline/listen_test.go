package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
)

// withAMix is a folder with one second of stereo in mixes/quay.wav.
func withAMix(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	info := audiofile.Info{Rate: 44100, Channels: 2, Frames: 44100, Encoding: audiofile.PCM16}
	if err := mixtest.Write(filepath.Join(folder, "mixes", "quay.wav"), info,
		func(c int, n int64) float64 { return float64((n*7919+int64(c))%1000)/2000 - 0.25 }); err != nil {
		t.Fatal(err)
	}
	return folder
}

// A session from the command line to its record: the address that is printed is served, three answers are
// given, and what they say is in a file beside the release, on the page and in show.
func TestListenServesAndRecords(t *testing.T) {
	folder := withAMix(t)
	file := filepath.Join(folder, "release.toml")
	if err := os.WriteFile(file, []byte("sources = [\"mixes/*.wav\"]\n[[stage]]\nkind = \"gain\"\n"+
		"gain_db = 6.0\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if code := run([]string{"render", "--quiet", file}, &streams{out: io.Discard, err: os.Stderr}); code != 0 {
		t.Fatalf("render ends with %d", code)
	}
	out, to := io.Pipe()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() {
		ended <- (&listenVerb{Release: file}).run(ctx, &streams{out: to, err: os.Stderr})
		_ = to.Close()
	}()
	address, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("no address: %v", <-ended)
	}
	go io.Copy(io.Discard, out)
	address = strings.TrimSpace(address)
	origin, _, _ := strings.Cut(strings.TrimPrefix(address, "http://"), "/")
	post := func(body string) (answer struct {
		Session string
		File    string
	}) {
		q, err := http.NewRequest("POST", address+"trial", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		q.Header.Set("Origin", "http://"+origin)
		q.Header.Set("Content-Type", "application/json")
		r, err := http.DefaultClient.Do(q)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		if text, _ := io.ReadAll(r.Body); r.StatusCode != 200 || json.Unmarshal(text, &answer) != nil {
			t.Fatalf("%s: %s %s", body, r.Status, text)
		}
		return answer
	}
	session := post(`{"do":"begin","room":1,"track":0,"kind":"preference","trials":3,"sources":[0,1]}`).Session
	var last string
	for k := 1; k <= 3; k++ {
		last = post(fmt.Sprintf(`{"do":"answer","session":%q,"trial":%d,"choice":"A"}`, session, k)).File
	}
	if _, err := os.Stat(filepath.Join(folder, filepath.FromSlash(last))); err != nil ||
		!strings.HasPrefix(last, "listening/quay-") {
		t.Errorf("recorded in %q: %v", last, err)
	}
	cancel()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Errorf("it ends with %v", err)
	}
	var shown bytes.Buffer
	if code := run([]string{"show", file}, &streams{out: &shown, err: os.Stderr}); code != 0 {
		t.Errorf("show ends with %d", code)
	}
	page, err := os.ReadFile(filepath.Join(folder, "masters", "ledger.html"))
	if err != nil {
		t.Fatal(err)
	}
	for what, text := range map[string]string{"show": shown.String(), "page": string(page)} {
		if !strings.Contains(text, "preference, mix / own chain: ") ||
			!strings.Contains(text, "no preference found") {
			t.Errorf("%s does not tell of the trial", what)
		}
	}
}
