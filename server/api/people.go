package api

import (
	"errors"
	"net/http"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

type phoneAnswer struct {
	Device    string `json:"device"`
	JoinedMS  int64  `json:"joinedMS"`
	ContactMS int64  `json:"contactMS"`
	State     string `json:"state"`
	ToldMS    int64  `json:"toldMS"`
	PasskeyMS int64  `json:"passkeyMS"`
}

type listedAnswer struct {
	personAnswer
	Phones []phoneAnswer `json:"phones"`
}

// people lists whom the caller may see with their phones: the client of a document for
// owner and coach, all staff for the owner, and for everybody else themselves.
func (s *Server) people(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked struct {
		Doc string `json:"doc"`
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	all, err := s.listed(r, asked.Doc, caller.Person)
	if err != nil {
		return err
	}
	answer := []listedAnswer{}
	for _, p := range all {
		one := listedAnswer{personAnswer{p.ID, p.Name, p.Role}, []phoneAnswer{}}
		for _, d := range p.Phones {
			one.Phones = append(one.Phones, phoneAnswer{d.Device.String(), d.JoinedMS, d.ContactMS,
				d.State, d.ToldMS, d.PasskeyMS})
		}
		answer = append(answer, one)
	}
	return answerJSON(w, map[string]any{"people": answer})
}

func (s *Server) listed(r *http.Request, doc string, p store.Person) ([]store.Listed, error) {
	switch {
	case doc != "" && (p.Role == sessions.Owner || p.Role == sessions.Coach):
		id, err := record.ParseID(doc)
		if err != nil {
			return nil, fieldError{"doc", "the identifier of a client record, or left out"}
		}
		if may, err := s.Store.CanRead(r.Context(), p.ID, id); err != nil || !may {
			return nil, errors.Join(errForbidden, err)
		}
		return s.Store.Clients(r.Context(), id)
	case doc != "":
		return nil, errForbidden
	case p.Role == sessions.Owner:
		return s.Store.Staff(r.Context())
	}
	return s.Store.PersonByID(r.Context(), p.ID)
}

// shutOut ends a phone's access at once, and its sockets; a lost one is told to empty itself.
func (s *Server) shutOut(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked struct {
		Device string `json:"device"`
		Wipe   bool   `json:"wipe"`
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	device, err := clock.ParseDevice(asked.Device)
	if err != nil {
		return fieldError{"device", "a device identity of 13 characters"}
	}
	may, err := s.mayShutOut(r, caller.Person, device)
	// A device that was never let in is answered like one that is not the caller's to shut out.
	if errors.Is(err, store.ErrNotFound) || err == nil && !may {
		return errForbidden
	}
	if err != nil {
		return err
	}
	if err := s.Store.ShutOut(caller, device, asked.Wipe, s.Now().UnixMilli()); err != nil {
		return err
	}
	s.Hub.Drop(device)
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// mayShutOut: their own phones, the owner all, and a coach those of clients whose record they see.
func (s *Server) mayShutOut(
	r *http.Request, by store.Person, device clock.Device,
) (bool, error) {
	whose, err := s.Store.OwnerOf(r.Context(), device)
	if err != nil || by.ID == whose.ID || by.Role == sessions.Owner {
		return err == nil, err
	}
	if by.Role != sessions.Coach || whose.Role != sessions.ClientOf {
		return false, nil
	}
	return s.Store.CanRead(r.Context(), by.ID, whose.Doc)
}

// errNoStaff answers a request about somebody who is no coach or assistant.
var errNoStaff = fieldError{"person", "a coach or an assistant of this practice"}

// setRole makes a coach an assistant or the other way round; it holds at once.
func (s *Server) setRole(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked struct {
		Person string        `json:"person"`
		Role   sessions.Role `json:"role"`
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	if asked.Role != sessions.Coach && asked.Role != sessions.Assistant {
		return fieldError{"role", "coach or assistant"}
	}
	err := s.Store.SetRole(caller, asked.Person, asked.Role, s.Now().UnixMilli())
	if errors.Is(err, store.ErrNotFound) {
		return errNoStaff
	}
	if err != nil {
		return err
	}
	s.Hub.News(map[string]bool{asked.Person: true}, caller.Device) // open phones ask, and hear it
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// takeOut shuts a coach or an assistant out with all of their phones, at once.
func (s *Server) takeOut(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked struct {
		Person string `json:"person"`
		Wipe   bool   `json:"wipe"`
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	out, err := s.Store.TakeOut(caller, asked.Person, asked.Wipe, s.Now().UnixMilli())
	if errors.Is(err, store.ErrNotFound) {
		return errNoStaff
	}
	if err != nil {
		return err
	}
	for _, phone := range out {
		s.Hub.Drop(phone.Device)
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}
