package api

import (
	"errors"
	"net/http"
	"time"

	"evenhold/server/access"
	"evenhold/server/store"
)

type tokenRequest struct {
	Key       []byte `json:"key"`
	Signature []byte `json:"signature"`
}

type tokenAnswer struct {
	Access     string `json:"access"`
	ExpiresInS int64  `json:"expiresInS"`
	Challenge  string `json:"challenge"`
	identity
}

// token takes the secret in a phone's cookie, with a proof of its key, and gives a fresh
// access token and the next secret.
func (s *Server) token(w http.ResponseWriter, r *http.Request, _ store.Member) error {
	sent, err := r.Cookie(cookieName)
	if err != nil {
		return access.ErrToken
	}
	var asked tokenRequest
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	next, err := s.secrets.Refresh(r.Context(), sent.Value,
		access.Proof{Key: asked.Key, Signature: asked.Signature})
	if errors.Is(err, store.ErrEnded) {
		s.Hub.Drop(next.Device)
	}
	if err != nil {
		return err
	}
	token, err := s.tokens.Access(next.Member)
	if err != nil {
		return err
	}
	who, err := s.identity(r, next.Member)
	if err != nil {
		return err
	}
	setCookie(w, next.Secret, cookieLife)
	return answerJSON(w, tokenAnswer{
		Access: token, ExpiresInS: int64(access.AccessLife / time.Second),
		Challenge: next.Challenge, identity: who,
	})
}

// renew gives a phone that was told "forked" a further identity, with a secret of
// its own. The old identity stays with the phone it belongs to.
func (s *Server) renew(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked install
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	j, secret, err := asked.joining()
	if err != nil {
		return err
	}
	if err := s.Store.Renew(caller, j, s.Now().UnixMilli()); err != nil {
		return err
	}
	return s.welcome(w, r, store.Member{Device: j.Device, Person: caller.Person}, secret)
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
