package api

import (
	"errors"
	"net/http"

	"evenhold/server/dossier"
	"evenhold/server/store"
)

// export hands out everything that is held about the client of a document: to owner and coach,
// and to the client.
func (s *Server) export(w http.ResponseWriter, r *http.Request, caller store.Member) error {
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
	practice, err := s.Store.Practice(r.Context())
	if err != nil {
		return err
	}
	if doc == practice.Doc {
		return errForbidden
	}
	all, err := dossier.Of(r.Context(), s.Store, doc.String())
	if errors.Is(err, dossier.ErrNobody) {
		return fieldError{"doc", "the identifier of a client record that has been sent"}
	}
	if err != nil {
		return err
	}
	e := store.Event{AtMS: s.Now().UnixMilli(), Person: caller.Person.ID,
		Device: caller.Device.String(), Act: "export", Subject: doc.String(), Result: "ok"}
	if err := s.Store.Audit(e); err != nil {
		return err
	}
	return answerJSON(w, map[string]any{
		"name": "evenhold-" + doc.String() + ".zip", "type": "application/zip", "base64": all.Zip,
	})
}
