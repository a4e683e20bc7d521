package listen

import (
	"encoding/json"
	"errors"
	"io"
	"math"
	"net/http"

	"ledgerline/pipeline/trial"
)

// request is the body of the one POST.
type request struct {
	Do string `json:"do"` // begin, answer, stop

	// begin
	Room      int        `json:"room"`
	Track     int        `json:"track"`
	Kind      trial.Kind `json:"kind"`
	Trials    int        `json:"trials"`
	Sources   []int      `json:"sources"`
	Reference int        `json:"reference"`
	ContextHz int        `json:"context_hz"`

	// answer, stop
	Session  string    `json:"session"`
	Trial    int       `json:"trial"`
	Choice   string    `json:"choice"`
	Grades   []float64 `json:"grades"`
	FromS    float64   `json:"from_s"`
	ToS      float64   `json:"to_s"`
	VolumeDB *float64  `json:"volume_db"`
}

// mostBytes is the longest body.
const mostBytes = 4096

// post takes what the listener does.
func (s *Server) post(w http.ResponseWriter, r *http.Request) {
	if r.Header.Get("Content-Type") != "application/json" {
		http.Error(w, "want application/json", http.StatusUnsupportedMediaType)
		return
	}
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostBytes))
	d.DisallowUnknownFields()
	var q request
	if err := d.Decode(&q); err != nil {
		http.Error(w, "not a request: "+err.Error(), http.StatusBadRequest)
		return
	}
	if _, err := d.Token(); err != io.EOF {
		http.Error(w, "more than a request", http.StatusBadRequest)
		return
	}
	var room *Room
	var t *track
	if q.Do == "begin" {
		room = s.room(q.Room)
		var err error
		if t, err = room.ready(r.Context(), q.Track); err != nil {
			answer(w, nil, err)
			return
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	v, err := s.do(q, room, t)
	answer(w, v, err)
}

func (s *Server) do(q request, room *Room, t *track) (any, error) {
	if q.Do == "begin" {
		switch {
		case s.session != nil:
			return nil, errors.New("a session is in progress: answer it or stop it")
		case room != s.last():
			return nil, errors.New("it was rendered again in this moment: begin again")
		}
		return s.begin(q, room, t)
	}
	if s.session == nil || q.Session != s.session.id {
		return nil, trial.ErrTrial
	}
	switch q.Do {
	case "answer":
		err := s.session.Answer(trial.Reply{
			Trial: q.Trial, Choice: q.Choice, Grades: q.Grades, FromS: q.FromS, ToS: q.ToS, VolumeDB: q.VolumeDB,
		})
		if err != nil {
			return nil, err
		}
		if s.session.Playing() != nil {
			return s.state(), nil
		}
		return s.end()
	case "stop":
		return s.end()
	}
	return nil, errors.New("want begin, answer or stop")
}

func (s *Server) begin(q request, room *Room, t *track) (any, error) {
	if q.ContextHz < 0 || q.ContextHz > 1e6 {
		return nil, errors.New("a rate that cannot be")
	}
	t.mu.Lock()
	setup := trial.Setup{
		Tool: room.options.Tool, Title: room.title, Track: t.name, RateHz: t.sources[0].file.Info().Rate,
		ContextHz: q.ContextHz,
		Pick:      room.options.Pick, Now: room.options.Now,
	}
	for _, source := range t.sources {
		r := source.Source
		r.LoudnessLUFS, r.MatchedLUFS = tenThousandth(r.LoudnessLUFS), tenThousandth(r.MatchedLUFS)
		setup.Sources = append(setup.Sources, r)
	}
	t.mu.Unlock()
	session, err := trial.Begin(trial.Request{Kind: q.Kind, Trials: q.Trials, Sources: q.Sources,
		Reference: q.Reference}, setup)
	if err != nil {
		return nil, err
	}
	s.session, s.stopped, s.left = &playing{session, random(), room, t}, nil, nil
	return s.state(), nil
}

// tenThousandth is a level as records have it; that of silence is -200.
func tenThousandth(x float64) float64 { return max(-200, math.Round(x*1e4)/1e4) }

// stateView is what the page is told of a session in progress. It has no names.
type stateView struct {
	Session string     `json:"session"` // empty: none
	Track   int        `json:"track"`
	Kind    trial.Kind `json:"kind"`
	At      int        `json:"at"` // from 1
	Rounds  int        `json:"rounds"`
	Letters []string   `json:"letters"`

	// of the last session, if it was stopped because something was rendered again
	Stopped *endView `json:"stopped,omitempty"`
}

func (s *Server) state() stateView {
	p := s.session
	if p == nil {
		return stateView{Stopped: s.stopped}
	}
	return stateView{p.id, s.last().find(p.Track()), p.Kind(), p.At(), p.Rounds(), p.Letters(), nil}
}

// endView is what the page is told at the end: now the names too.
type endView struct {
	Session  string       `json:"session"`
	Result   trial.Result `json:"result"`
	Words    []string     `json:"words"`
	NotEqual string       `json:"not_equal"` // empty: something was found
	File     string       `json:"file"`      // empty: nothing was answered, and nothing is kept
}

// end ends the session and writes its record, unless nothing was answered.
func (s *Server) end() (*endView, error) {
	r, room := s.session.End(), s.session.room
	v := &endView{Session: s.session.id, Words: []string{}}
	if len(r.Answers) > 0 {
		path, err := trial.Write(room.folder, &r)
		if err != nil {
			return nil, err // the session stays, so that it can be tried again
		}
		v.File = within(room.folder, path)
		if f := room.options.Recorded; f != nil {
			f()
		}
	}
	s.session = nil
	v.Result = r
	for i := range r.Outcome {
		v.Words = append(v.Words, r.Outcome[i].Words(r.Protocol.Kind))
		if !r.Outcome[i].Found {
			v.NotEqual = trial.NotEqual
		}
	}
	return v, nil
}
