package listen_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"ledgerline/pipeline/listen"
	"ledgerline/pipeline/trial"
)

// A whole session by keyboard and buttons: names are hidden, an answer is asked for after everything was
// heard, and the record has what was played. The generator always picks 0, so that X is A is the mix.
func TestInABrowserATrialFromBeginningToEnd(t *testing.T) {
	inALongRun(t)
	s := serve(t, func(o *listen.Options) { o.Pick = func(int) int { return 0 } })
	f, err := os.OpenFile(filepath.Join(s.folder, "masters", "01 quay.wav"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	f.Write(make([]byte, 2)) // not what the ledger records: there is a note with a name
	f.Close()
	b := open(t, s)
	if text := ask[string](b, `document.getElementById("notes").innerText`); text != "own chain is not what "+
		"the ledger records." {
		t.Errorf("noted: %q", text)
	}
	b.key("n") // the worst moment
	ask[bool](b,
		`document.getElementById("trials").value = "5"; document.getElementById("form").requestSubmit(); true`)
	b.await(`!document.getElementById("trial").hidden`)
	if text := ask[string](b, `document.body.innerText`); strings.Contains(text, "own chain") ||
		strings.Contains(text, "LUFS, played") {
		t.Errorf("names are shown in a trial: %s", text)
	}
	if !ask[bool](b, `[...document.querySelectorAll("#answers [data-answer]")].every(e => e.disabled)`) {
		t.Error("it can be answered before anything is heard")
	}
	b.key(" ")
	for k := 1; k <= 5; k++ {
		b.await(fmt.Sprintf(`document.getElementById("trialhead").textContent === "Trial %d of 5"`, k))
		b.await(`document.getElementById("play").textContent === "Pause"`)
		b.key("2")
		b.key("3")
		if k == 2 {
			b.shot("trial")
		}
		ask[bool](b, `document.querySelectorAll("#answers [data-answer]")[`+
			map[bool]string{true: "1", false: "0"}[k == 5]+`].click(); true`)
	}
	b.await(`!document.getElementById("result").hidden`)
	b.shot("result")
	found := ask[string](b, `document.getElementById("result").innerText`)
	for _, want := range []string{
		"4 of 5 right, p = 0.1875, not told apart", `is not "equal"`, "listening/01 quay-",
	} {
		if !strings.Contains(found, want) {
			t.Errorf("no %q in %s", want, found)
		}
	}
	b.Quiet()
	all, notes := trial.Read(s.folder)
	if len(all) != 1 || len(notes) > 0 {
		t.Fatalf("%d records, %q", len(all), notes)
	}
	r := all[0]
	if r.Track != "01 quay" || !r.Complete || r.Outcome[0].Count != 4 || len(r.Answers) != 5 ||
		r.Protocol.ContextHz != rate || r.Protocol.RateHz != rate {
		t.Errorf("%+v", r)
	}
	if a := r.Answers[0]; a.Played["X"] != "mix" || a.ToS-a.FromS < 1 || a.VolumeDB == nil ||
		*a.VolumeDB != -20 {
		t.Errorf("%+v", a)
	}
	v := s.view(0)
	for i, source := range r.Sources {
		if source.File != v.Sources[i].File || len(source.SHA256) != 64 || source.GainDB != v.Sources[i].GainDB {
			t.Errorf("%+v", source)
		}
	}
	text, err := os.ReadFile(filepath.Join(s.folder, "listening", r.File))
	if err != nil || !json.Valid(text) {
		t.Errorf("%s: %v", text, err)
	}
}

// By keyboard alone a trial is set up, begun, played, answered and left: tabs, arrows, the space bar and
// Enter, and single keys.
func TestInABrowserATrialByKeyboard(t *testing.T) {
	inALongRun(t)
	s := serve(t)
	b := open(t, s)
	to := func(script string) { // tabs until what has the focus fits
		t.Helper()
		for range 80 {
			if ask[bool](b, `(e => `+script+`)(document.activeElement)`) {
				return
			}
			b.key(kb.Tab)
		}
		t.Fatalf("no tab leads to %s", script)
	}
	to(`e.name === "kind"`)
	b.key(kb.ArrowDown) // down: preference
	to(`e.id === "trials"`)
	for range 15 {
		b.key(kb.ArrowDown)
	}
	to(`e.id === "begin"`)
	b.key(kb.Enter)
	b.await(`document.getElementById("trialhead").textContent === "Trial 1 of 1"`)
	b.key(" ") // the heading has the focus, so that this plays
	b.await(`document.getElementById("play").textContent === "Pause"`)
	b.key("1")
	b.key("2")
	to(`e.textContent === "I prefer B"`)
	b.key(kb.Enter)
	b.await(`!document.getElementById("result").hidden`)
	to(`e.id === "back"`)
	b.key(kb.Enter)
	b.await(`document.getElementById("result").hidden && !document.getElementById("plan").hidden`)
	b.Quiet()
	if all, _ := trial.Read(s.folder); len(all) != 1 || !all[0].Complete || all[0].Answers[0].Choice != "B" ||
		all[0].Protocol.Kind != trial.Preference {
		t.Errorf("%+v", all)
	}
}

// The page that is loaded again in the middle of a session goes on with it.
func TestInABrowserASessionOutlivesItsPage(t *testing.T) {
	inALongRun(t)
	s := serve(t)
	b := open(t, s)
	ask[bool](b, `document.querySelector("[value=grades]").click(); document.getElementById("trials").value = `+
		`"2"; document.getElementById("form").requestSubmit(); true`)
	b.await(`!document.getElementById("trial").hidden`)
	b = open(t, s)
	b.await(`document.getElementById("trialhead").textContent === "Trial 1 of 2"`)
	b.key(" ")
	b.await(`document.getElementById("play").textContent === "Pause"`)
	b.key("2")
	b.key("3")
	ask[bool](b, `document.querySelector("#answers input").value = "4.5"; document.querySelector("#answers `+
		`input").dispatchEvent(new Event("input")); true`)
	b.shot("grades")
	ask[bool](b, `document.querySelector("#answers [data-answer]").click(); true`)
	b.await(`document.getElementById("trialhead").textContent === "Trial 2 of 2"`)
	ask[bool](b, `document.getElementById("stop").click(); true`)
	b.await(`!document.getElementById("result").hidden`)
	if text := ask[string](b, `document.getElementById("found").innerText`); !strings.Contains(text,
		"Stopped after 1 answer:") {
		t.Errorf("%q", text)
	}
	b.Quiet()
	all, _ := trial.Read(s.folder)
	if len(all) != 1 || all[0].Complete || all[0].Answers[0].Grades["B"] != 4.5 ||
		all[0].Answers[0].Grades["C"] != 5 {
		t.Errorf("%+v", all)
	}
}
