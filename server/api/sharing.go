package api

import (
	"errors"
	"net/http"
	"slices"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/record"
)

type seesAnswer struct {
	personAnswer
	Sees bool `json:"sees"`
}

// sharing tells who of the staff sees a client record. The owner always does; who has no phone
// that is let in is left out.
func (s *Server) sharing(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked struct {
		Doc string `json:"doc"`
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	doc, err := s.readable(r, caller.Person, asked.Doc)
	if err != nil {
		return err
	}
	now, err := s.Store.Sharing(r.Context(), doc)
	if err != nil {
		return err
	}
	staff, err := s.Store.Staff(r.Context())
	if err != nil {
		return err
	}
	people := []seesAnswer{}
	for _, p := range staff {
		if !p.IsIn() {
			continue
		}
		sees := p.Role == sessions.Owner || !now.IsClosed || slices.Contains(now.People, p.ID)
		people = append(people, seesAnswer{personAnswer{p.ID, p.Name, p.Role}, sees})
	}
	return answerJSON(w, map[string]any{"all": !now.IsClosed, "people": people})
}

// readable reads the identifier of a client record that the person sees.
func (s *Server) readable(r *http.Request, p store.Person, text string) (record.ID, error) {
	doc, err := record.ParseID(text)
	if err != nil {
		return doc, fieldError{"doc", "the identifier of a client record"}
	}
	if may, err := s.Store.CanRead(r.Context(), p.ID, doc); err != nil || !may {
		return doc, errors.Join(errForbidden, err)
	}
	return doc, nil
}

// share says anew who of the staff sees a client record; it holds at once. A coach does not shut
// themselves out by it.
func (s *Server) share(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked struct {
		Doc    string   `json:"doc"`
		All    bool     `json:"all"`
		People []string `json:"people"`
	}
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	doc, err := record.ParseID(asked.Doc)
	if err != nil {
		return fieldError{"doc", "the identifier of a client record"}
	}
	hear, err := s.Store.Share(caller, doc,
		store.Sharing{IsClosed: !asked.All, People: asked.People}, s.Now().UnixMilli())
	if errors.Is(err, store.ErrHidden) {
		return errForbidden
	}
	if errors.Is(err, store.ErrNotFound) {
		return fieldError{"doc or people", "a client record and staff of this practice"}
	}
	if err != nil {
		return err
	}
	s.Hub.News(hear, caller.Device)
	w.WriteHeader(http.StatusNoContent)
	return nil
}
