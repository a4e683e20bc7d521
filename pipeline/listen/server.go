package listen

import (
	"context"
	"embed"
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"strconv"
	"sync"
	"time"

	"ledgerline/pipeline/trial"
)

//go:embed page.html page.css page.js player.js
var files embed.FS

// static are the files of the page, and what each is.
var static = map[string]string{
	"page.html": "text/html; charset=utf-8",
	"page.css":  "text/css; charset=utf-8",
	"page.js":   "text/javascript; charset=utf-8",
	"player.js": "text/javascript; charset=utf-8",
}

// errNone is the error of a number or a name that is not there.
var errNone = errors.New("not found")

// Server serves a room, and others after it when the release is rendered again. Close it.
type Server struct {
	guard guard

	mu sync.Mutex
	// the newest last, and some before it, which pages still play from; none: nothing is rendered yet
	rooms   []*Room
	news    chan struct{} // closed when there is another room
	session *playing      // nil: none in progress
	stopped *endView      // of the last session, if another room stopped it
	left    *playing      // that session, whose page may ask for a block until it is told
}

// playing is a session in progress.
type playing struct {
	*trial.Session
	id    string
	room  *Room // stays open as long as the session
	track *track
}

// NewServer is the server of a room at the address of a listener, under a token of its own. It closes the
// room. Nil: nothing is rendered yet, and Renew has the first room.
func NewServer(r *Room, at net.Addr) *Server {
	s := &Server{news: make(chan struct{})}
	if r != nil {
		s.add(r)
	}
	s.guard = guard{host: at.String(), token: random(), next: s.serve}
	return s
}

// Address is where the page is.
func (s *Server) Address() string { return "http://" + s.guard.host + "/" + s.guard.token + "/" }

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.guard.ServeHTTP(w, r) }

// Close closes all rooms.
func (s *Server) Close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, r := range s.rooms {
		r.Close()
	}
	s.rooms = nil
}

// Serve serves until ctx ends. A session that is in progress then is recorded as stopped.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	h := &http.Server{
		Handler: s, DisableGeneralOptionsHandler: true, ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout: 10 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10,
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
	failed := make(chan error, 1)
	go func() { failed <- h.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	_ = h.Close()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.session != nil {
		if _, err := s.end(); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// serve answers what has passed the guard.
func (s *Server) serve(w http.ResponseWriter, r *http.Request, path []string) {
	if (r.Method == http.MethodPost) != (len(path) == 1 && path[0] == "trial" && r.Method != http.MethodGet) {
		http.Error(w, "not that method here", http.StatusMethodNotAllowed)
		return
	}
	name := path[0]
	if name == "" {
		name = "page.html"
	}
	switch {
	case len(path) == 1 && static[name] != "":
		text, _ := files.ReadFile(name) // embedded
		w.Header().Set("Content-Type", static[name])
		_, _ = w.Write(text)
	case len(path) == 1 && name == "release.json":
		answer(w, s.newest().describe(), nil)
	case len(path) == 2 && name == "next":
		s.next(w, r, number(path[1]))
	case len(path) == 1 && name == "trial" && r.Method == http.MethodPost:
		s.post(w, r)
	case len(path) == 1 && name == "trial":
		s.mu.Lock()
		defer s.mu.Unlock()
		answer(w, s.state(), nil)
	case len(path) == 3 && name == "track":
		t, err := s.room(number(path[1])).ready(r.Context(), number(path[2]))
		if err != nil {
			answer(w, nil, err)
			return
		}
		answer(w, t.describe(), nil)
	case len(path) == 4 && name == "block":
		s.block(w, r, path[1:])
	case len(path) == 4 && name == "trial":
		s.trialBlock(w, r, path[1:])
	default:
		http.NotFound(w, r)
	}
}

// number is a decimal number without sign or leading zeros; -1: it is none.
func number(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || strconv.Itoa(n) != text {
		return -1
	}
	return n
}

// block answers with a block of all sources of a track.
func (s *Server) block(w http.ResponseWriter, r *http.Request, path []string) {
	t, err := s.room(number(path[0])).ready(r.Context(), number(path[1]))
	if err != nil {
		answer(w, nil, err)
		return
	}
	all := make([]int, len(t.sources))
	for i := range all {
		all[i] = i
	}
	sendBlock(w, t, number(path[2]), all)
}

// trialBlock answers with a block of the sources of the trial in progress, under their letters. The trial is
// named, so that nothing that was kept of another one is taken for it.
func (s *Server) trialBlock(w http.ResponseWriter, r *http.Request, path []string) {
	s.mu.Lock()
	p := s.session
	if p == nil {
		p = s.left
	}
	if p == nil || path[0] != p.id || number(path[1]) != p.At() || p.Playing() == nil {
		s.mu.Unlock()
		answer(w, nil, trial.ErrTrial)
		return
	}
	t, numbers := p.track, p.Playing()
	s.mu.Unlock()
	sendBlock(w, t, number(path[2]), numbers)
}

func sendBlock(w http.ResponseWriter, t *track, n int, numbers []int) {
	block, err := t.blockOf(int64(n), numbers)
	if err != nil {
		answer(w, nil, err)
		return
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Content-Length", strconv.Itoa(len(block)))
	_, _ = w.Write(block)
}

// answer answers with JSON, or with what is wrong.
func answer(w http.ResponseWriter, v any, err error) {
	switch {
	case errors.Is(err, errNone):
		http.Error(w, err.Error(), http.StatusNotFound)
		return
	case errors.Is(err, trial.ErrTrial):
		http.Error(w, err.Error(), http.StatusConflict)
		return
	case err != nil:
		http.Error(w, err.Error(), http.StatusUnprocessableEntity)
		return
	}
	text, err := json.Marshal(v)
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(text)
}
