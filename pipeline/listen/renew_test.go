package listen_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerline/pipeline"
	"ledgerline/pipeline/listen"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/trial"
)

// again renders the release with another text, and has the server play that.
func (s *scene) again(text string) {
	s.t.Helper()
	file := filepath.Join(s.folder, "release.toml")
	if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
		s.t.Fatal(err)
	}
	rel, err := release.Load(file)
	if err != nil {
		s.t.Fatal(err)
	}
	if _, err := pipeline.RenderRelease(context.Background(), rel,
		pipeline.Options{Tool: "ledgerline test"}); err != nil {
		s.t.Fatal(err)
	}
	s.renew(rel)
}

// renew has the server play what is there.
func (s *scene) renew(rel *release.Release) {
	s.t.Helper()
	room, err := listen.Open(rel, s.options)
	if err != nil {
		s.t.Fatal(err)
	}
	if err := s.server.Renew(room); err != nil {
		s.t.Error(err)
	}
}

// changed is the text of the release with the variant "deep", or its own chain, at another gain. Then the
// variant "mild" stays.
var changed = strings.Replace(text, "drive.gain_db = 9.0", "drive.gain_db = 12.0", 1)

// Who waits is told of another room at once, and both are heard: what was open is the files of before, the
// new room those of now.
func TestAnotherRenderIsTold(t *testing.T) {
	s := serve(t)
	was := s.view(0)
	before := s.get("block/1/0/3")
	told := make(chan string, 1)
	go func() { told <- string(s.get("next/1")) }()
	s.again(changed)
	select {
	case got := <-told:
		if got != `{"room":2}` {
			t.Errorf("told %s", got)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("nothing is told")
	}
	if string(s.get("block/1/0/3")) != string(before) {
		t.Error("the files of before are others now")
	}
	var is view
	if err := json.Unmarshal(s.get("track/2/0"), &is); err != nil {
		t.Fatal(err)
	}
	for k, source := range is.Sources {
		if same := source.SHA256 == was.Sources[k].SHA256; same != (source.Name != "deep") {
			t.Errorf("%s: the same file: %v", source.Name, same)
		}
	}
	if is.Spread > 0.01 {
		t.Errorf("matched within %v LU", is.Spread)
	}
	if got := string(s.get("next/1")); got != `{"room":2}` {
		t.Errorf("told later %s", got)
	}
}

// Rooms that no page plays from any more are closed.
func TestOldRoomsAreClosed(t *testing.T) {
	s := serve(t)
	s.view(0)
	rel, err := release.Load(filepath.Join(s.folder, "release.toml"))
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		s.renew(rel)
	}
	for room, want := range map[int]int{1: 404, 2: 200, 4: 200, 5: 404} {
		r, err := http.Get(fmt.Sprintf("%strack/%d/0", s.url, room))
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		if r.StatusCode != want {
			t.Errorf("room %d: %s, want %d", room, r.Status, want)
		}
	}
}

type state struct {
	Session string
	Stopped *struct {
		Session, File string
		Result        trial.Result
	}
}

func (s *scene) state() (v state) {
	s.t.Helper()
	if err := json.Unmarshal(s.get("trial"), &v); err != nil {
		s.t.Fatal(err)
	}
	return v
}

// A session whose files are rendered again is stopped, and its record says why. One whose files stay goes on
// to its end, however many other files are rendered meanwhile, and is played from those that it began with.
func TestASessionIsOfTheFilesItBeganWith(t *testing.T) {
	s := serve(t)
	begin := func(room, other int) string {
		answer, code := s.post(
			fmt.Sprintf(`{"do":"begin","room":%d,"track":0,"kind":"preference","trials":2,"sources":[0,%d]}`,
				room, other))
		if code != 200 {
			t.Fatalf("%d %s", code, answer)
		}
		return s.state().Session
	}
	answer := func(session string, trial int) int {
		_, code := s.post(fmt.Sprintf(`{"do":"answer","session":%q,"trial":%d,"choice":"A"}`, session, trial))
		return code
	}

	mild := begin(1, 3)
	block := s.get("trial/" + mild + "/1/2")
	s.again(changed)
	rel, err := release.Load(filepath.Join(s.folder, "release.toml"))
	if err != nil {
		t.Fatal(err)
	}
	for range 3 { // with the first, more than are kept
		s.renew(rel)
	}
	if string(s.get("trial/"+mild+"/1/2")) != string(block) {
		t.Error("the session plays other files than it began with")
	}
	if code := answer(mild, 1); code != 200 {
		t.Errorf("an answer to a session that goes on: %d", code)
	}
	if code := answer(mild, 2); code != 200 {
		t.Errorf("an answer to a session that goes on: %d", code)
	}

	if _, code := s.post(
		`{"do":"begin","room":1,"track":0,"kind":"preference","trials":2,"sources":[0,2]}`); code == 200 {
		t.Error("a session begins with files that were rendered again")
	}
	deep := begin(5, 2)
	if code := answer(deep, 1); code != 200 {
		t.Fatal(code)
	}
	s.again(text)
	v := s.state()
	if v.Session != "" || v.Stopped == nil || v.Stopped.Session != deep || v.Stopped.Result.Complete ||
		v.Stopped.Result.Stopped != "deep was rendered again" {
		t.Fatalf("%+v", v)
	}
	if code := answer(deep, 2); code != 409 {
		t.Errorf("an answer to a session that was stopped: %d", code)
	}
	all, _ := trial.Read(s.folder)
	if len(all) != 2 || !all[0].Complete || all[1].Complete ||
		!strings.HasSuffix(all[1].String(), "stopped after 1 answer, because deep was rendered again: "+
			"says nothing") {
		t.Errorf("%+v", all)
	}
}

// A server without a room says that nothing is rendered, and has the first one as soon as something is.
func TestBeforeTheFirstRender(t *testing.T) {
	s := serve(t)
	s.server.Close()
	if got := string(s.get("release.json")); !strings.Contains(got, `"room":0,"title":"","tracks":[]`) {
		t.Errorf("%.200s", got)
	}
	for _, path := range []string{"track/0/0", "track/1/0", "block/0/0/0"} {
		if r, err := http.Get(s.url + path); err != nil || r.StatusCode != 404 {
			t.Errorf("%s: %v %v", path, r, err)
		}
	}
	s.again(text)
	if got := string(s.get("next/0")); got != `{"room":1}` {
		t.Error(got)
	}
}

// post is the page's own POST.
func (s *scene) post(body string) (answer string, code int) {
	s.t.Helper()
	q, err := http.NewRequest("POST", s.url+"trial", strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	q.Header.Set("Origin", "http://"+s.host)
	q.Header.Set("Content-Type", "application/json")
	r, err := http.DefaultClient.Do(q)
	if err != nil {
		s.t.Fatal(err)
	}
	defer r.Body.Close()
	text, _ := io.ReadAll(r.Body)
	return string(text), r.StatusCode
}
