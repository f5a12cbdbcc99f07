package api

import (
	"errors"
	"net/http"

	"evenhold/server/store"
)

// alive says that the process answers, whatever state its parts are in.
func (s *Server) alive(w http.ResponseWriter, _ *http.Request, _ store.Member) error {
	return answerJSON(w, map[string]string{"status": "ok"})
}

// ready says that the server can take work: the practice file takes writes, the disk has room
// and the server is not about to stop. It tells no details.
func (s *Server) ready(w http.ResponseWriter, _ *http.Request, _ store.Member) error {
	select {
	case <-s.Closing:
		return store.ErrBusy
	default:
	}
	// Anybody may ask: however many do, pushes wait for one probe only.
	s.probing.Lock()
	err := errors.Join(s.Room(), s.Store.Probe())
	s.probing.Unlock()
	if err != nil {
		return err
	}
	return answerJSON(w, map[string]string{"status": "ok"})
}
