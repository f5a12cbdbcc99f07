package api

import (
	"net/http"
	"time"

	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
)

type tokenAnswer struct {
	Access     string `json:"access"`
	ExpiresInS int64  `json:"expiresInS"`
	identity
}

// token gives a phone with a cookie a fresh access token, and the cookie a fresh life.
func (s *Server) token(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	token, err := s.tokens.Access(caller)
	if err != nil {
		return err
	}
	who, err := s.identity(r, caller)
	if err != nil {
		return err
	}
	sent, err := r.Cookie(cookieName)
	if err != nil {
		return access.ErrToken
	}
	setCookie(w, sent.Value, cookieLife)
	return answerJSON(w, tokenAnswer{
		Access: token, ExpiresInS: int64(access.AccessLife / time.Second), identity: who,
	})
}

// renew gives a phone that was told "forked" a further identity, with a secret of
// its own. The old identity stays with the phone it belongs to.
func (s *Server) renew(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked struct {
		Device string `json:"device"`
	}
	if err := readJSON(w, r, &asked); err != nil {
		return err
	}
	device, err := clock.ParseDevice(asked.Device)
	if err != nil {
		return fieldError{"device", "a device identity of 13 characters"}
	}
	secret, hash := access.NewSecret()
	if err := s.Store.Renew(caller, device, hash, s.Now().UnixMilli()); err != nil {
		return err
	}
	return s.welcome(w, r, store.Member{Device: device, Person: caller.Person}, secret)
}

// forget signs the asking phone off at once: its cookie, tokens and sockets end.
func (s *Server) forget(w http.ResponseWriter, _ *http.Request, caller store.Member) error {
	if err := s.Store.Revoke(caller, s.Now().UnixMilli()); err != nil {
		return err
	}
	s.Hub.Drop(caller.Device)
	setCookie(w, "", -time.Second)
	w.WriteHeader(http.StatusNoContent)
	return nil
}
