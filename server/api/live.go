package api

import (
	"context"
	"errors"
	"net/http"

	"evenhold/server/access"
	"evenhold/server/live"
	"evenhold/server/store"
)

// ticket gives a signed-in phone a ticket for one websocket.
func (s *Server) ticket(w http.ResponseWriter, _ *http.Request, caller store.Member) error {
	made, err := s.tickets.Make(caller)
	if err != nil {
		return err
	}
	return answerJSON(w, map[string]string{"ticket": made})
}

func (s *Server) openSocket(w http.ResponseWriter, r *http.Request, _ store.Member) error {
	s.live.ServeHTTP(w, r)
	return nil
}

// takeTicket uses a ticket up for the person it was made for, if their phone is
// still let in.
func (s *Server) takeTicket(text string) (live.Listener, error) {
	id, device, err := s.tickets.Take(text)
	if err != nil {
		return live.Listener{}, err
	}
	m, err := s.Store.MemberByDevice(context.Background(), device)
	if err != nil || m.Person.ID != id {
		return live.Listener{}, access.ErrToken
	}
	return live.Listener{Person: id, Device: device}, nil
}

// Recheck closes the sockets of phones that were shut out by another process, and tells all
// others that there may be news.
func (s *Server) Recheck() {
	people := map[string]bool{}
	for _, device := range s.Hub.Devices() {
		m, err := s.Store.MemberByDevice(context.Background(), device)
		if errors.Is(err, store.ErrNotFound) {
			s.Hub.Drop(device)
		} else if err == nil {
			people[m.Person.ID] = true
		}
	}
	s.Hub.News(people, 0)
}
