package api

import (
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/store"
)

// knocksHeader says with each answer to an exchange how many phones wait for the caller's tap.
const knocksHeader = "Evenhold-Knocks"

// askAgain is the pace at which a phone that waits for a tap asks.
const askAgain = 3 * time.Second

// errNoKnock answers a tap about a phone that does not wait for the caller.
var errNoKnock = errors.New("no such phone waits")

// phoneKinds are the kinds of device by the word that their browsers put into User-Agent, in the
// order of looking: what is an Android phone also says Linux (from memory).
var phoneKinds = []struct{ says, kind string }{
	{"iPhone", "apple"}, {"iPad", "apple"}, {"Android", "android"},
	{"Macintosh", "computer"}, {"Windows", "computer"}, {"Linux", "computer"},
}

// phoneKind is the kind of device that a browser says it runs on. It can say anything: it helps a
// person to tell one phone from another, and is no proof.
func phoneKind(r *http.Request) string {
	for _, k := range phoneKinds {
		if strings.Contains(r.UserAgent(), k.says) {
			return k.kind
		}
	}
	return "other"
}

// waiting tells a phone that showed a right code to ask again, and the first time those who may let
// it in.
func (s *Server) waiting(
	w http.ResponseWriter, r *http.Request, waits store.Waits,
) error {
	if waits.IsNew {
		hosts, err := s.Store.HostsOf(r.Context(), waits.Handle)
		if err != nil {
			return err
		}
		s.Hub.News(hosts, 0)
	}
	w.Header().Set("Retry-After", strconv.Itoa(int(askAgain/time.Second)))
	w.WriteHeader(http.StatusAccepted)
	return answerJSON(w, map[string]int64{"leftMS": waits.UntilMS - s.Now().UnixMilli()})
}

type knockAnswer struct {
	ID      string        `json:"id"`
	Phone   string        `json:"phone"`
	Address string        `json:"address"`
	Name    string        `json:"name"`
	Role    sessions.Role `json:"role"`
	Known   bool          `json:"known"`
	AtMS    int64         `json:"atMS"`
}

// knocks lists the phones that wait for the caller's tap.
func (s *Server) knocks(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	waiting, err := s.Store.Knocks(r.Context(), caller.Person, s.Now().UnixMilli())
	if err != nil {
		return err
	}
	all := []knockAnswer{}
	for _, k := range waiting {
		all = append(all, knockAnswer{k.Handle, k.Phone, k.Address, k.Name, k.Role, k.Known, k.AtMS})
	}
	return answerJSON(w, map[string]any{"knocks": all})
}

// answerKnock lets a waiting phone in or turns it away.
func (s *Server) answerKnock(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked struct {
		ID  string `json:"id"`
		Let *bool  `json:"let"`
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	if asked.Let == nil {
		return fieldError{"let", "true or false"}
	}
	hosts, err := s.Store.HostsOf(r.Context(), asked.ID)
	if err != nil {
		return err
	}
	err = s.Store.AnswerKnock(caller, asked.ID, *asked.Let, s.Now().UnixMilli())
	if errors.Is(err, store.ErrNotFound) {
		return errNoKnock
	}
	if err != nil {
		return err
	}
	s.Hub.News(hosts, caller.Device) // the others need not answer any more
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// countKnocks says how many phones wait for the caller's tap.
func (s *Server) countKnocks(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	if caller.Person.Role != sessions.Owner && caller.Person.Role != sessions.Coach {
		return nil
	}
	waiting, err := s.Store.Knocks(r.Context(), caller.Person, s.Now().UnixMilli())
	w.Header().Set(knocksHeader, strconv.Itoa(len(waiting)))
	return err
}
