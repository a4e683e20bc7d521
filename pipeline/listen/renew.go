package listen

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"ledgerline/pipeline/trial"
)

// kept is how many rooms stay open: pages play from the one before the newest until its tracks are matched,
// and one that a render overtakes meanwhile may be a room further back.
const kept = 3

// add has a room be the newest. The caller holds mu, or nobody else has the server yet.
func (s *Server) add(r *Room) {
	r.number = 1
	if last := s.last(); last != nil {
		r.number = last.number + 1
	}
	s.rooms = append(s.rooms, r)
	for i := 0; i < len(s.rooms)-kept; {
		if old := s.rooms[i]; s.session == nil || s.session.room != old {
			old.Close()
			s.rooms = slices.Delete(s.rooms, i, i+1)
			continue
		}
		i++
	}
}

// last is the newest room; nil: there is none. The caller holds mu.
func (s *Server) last() *Room {
	if len(s.rooms) == 0 {
		return nil
	}
	return s.rooms[len(s.rooms)-1]
}

// newest is the newest room; nil: there is none.
func (s *Server) newest() *Room {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.last()
}

// room is the room of a number; nil: it is not open.
func (s *Server) room(number int) *Room {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, r := range s.rooms {
		if r.number == number {
			return r
		}
	}
	return nil
}

// Renew has the pages play what is in another room of the same release, which the server closes in the end. A
// session in progress goes on where its files are the same; else it is stopped, and its record says why: two
// renders under one letter would tell nothing. The error is that of writing this record; the room is served
// all the same.
func (s *Server) Renew(r *Room) (err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if p := s.session; p != nil {
		if changed := r.changed(p.Track(), p.Sources()); len(changed) > 0 {
			p.Stop(strings.Join(changed, " and ") + " " + was(len(changed)) + " rendered again")
			if s.stopped, err = s.end(); err != nil {
				end := p.End()
				s.session, s.stopped = nil, &endView{
					Session: p.id, Result: end, Words: []string{"It could not be kept: " + err.Error()},
				}
			}
			s.left = p
		}
	}
	s.add(r)
	close(s.news)
	s.news = make(chan struct{})
	return err
}

func was(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// changed are the names of sources whose files are not what the ledger of this room records.
func (r *Room) changed(track string, sources []trial.Source) (names []string) {
	at := r.find(track)
	for _, was := range sources {
		same := at >= 0 && slices.ContainsFunc(r.tracks[at].sources, func(s *source) bool {
			return s.Is == was.Is && s.Variant == was.Variant && s.Delivery == was.Delivery &&
				s.Through == was.Through && s.recorded == was.SHA256
		})
		if !same {
			names = append(names, was.Name)
		}
	}
	return names
}

// patience is how long a page is kept waiting for news before it is told that there are none, and asks again.
const patience = 25 * time.Second

type newsView struct {
	Room int `json:"room"`
}

// next answers with the number of the newest room as soon as that is not the one that the page has.
func (s *Server) next(w http.ResponseWriter, r *http.Request, has int) {
	until := time.NewTimer(patience)
	defer until.Stop()
	for {
		s.mu.Lock()
		is, news := 0, s.news
		if last := s.last(); last != nil {
			is = last.number
		}
		s.mu.Unlock()
		if is == has {
			select {
			case <-news:
				continue
			case <-until.C:
			case <-r.Context().Done():
				return
			}
		}
		answer(w, newsView{is}, nil)
		return
	}
}
