package api

import (
	"encoding/json"
	"net/http"

	"evenhold/server/store"
)

// passkeyAnswer is a question for the browser, or what the browser answered to it.
type passkeyAnswer struct {
	Passkey json.RawMessage `json:"passkey"`
}

// askNewPasskey gives the question that makes a passkey for the caller.
func (s *Server) askNewPasskey(w http.ResponseWriter, _ *http.Request, caller store.Member) error {
	question, err := s.passkeys.AskNew(caller)
	if err != nil {
		return err
	}
	return answerJSON(w, map[string]any{"passkey": question})
}

// keepPasskey keeps what the browser made.
func (s *Server) keepPasskey(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var made passkeyAnswer
	if err := readJSON(r, &made); err != nil {
		return err
	}
	if err := s.passkeys.Made(caller, made.Passkey); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// askPasskey gives the question that any passkey of this server answers.
func (s *Server) askPasskey(w http.ResponseWriter, _ *http.Request, _ store.Member) error {
	question, err := s.passkeys.Ask()
	if err != nil {
		return err
	}
	return answerJSON(w, map[string]any{"passkey": question})
}

// comeBack lets the person of a passkey in, as an invitation does.
func (s *Server) comeBack(w http.ResponseWriter, r *http.Request, _ store.Member) error {
	var asked struct {
		passkeyAnswer
		install
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	j, secret, err := asked.joining()
	if err != nil {
		return err
	}
	m, err := s.passkeys.ComeBack(r.Context(), s.address(r), asked.Passkey, j)
	if err != nil {
		return err
	}
	return s.welcome(w, r, m, secret)
}
