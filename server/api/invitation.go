package api

import (
	"net/http"
	"strings"

	"rsc.io/qr"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
)

type inviteRequest struct {
	Role sessions.Role `json:"role"`
	Name string        `json:"name"`
	Doc  string        `json:"doc"`
	// Person names staff who are known already: another phone of theirs.
	Person string `json:"person"`
}

type inviteAnswer struct {
	Code   string   `json:"code"`
	Link   string   `json:"link"`
	LeftMS int64    `json:"leftMS"` // milliseconds that the code is still good
	QR     qrAnswer `json:"qr"`
}

// qrAnswer is a square of size modules a side, without its quiet zone: one text
// of 0 and 1 a row, 1 for dark.
type qrAnswer struct {
	Size int      `json:"size"`
	Rows []string `json:"rows"`
}

// invite makes an invitation for staff, or for the client of a document.
func (s *Server) invite(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	var asked inviteRequest
	if err := readJSON(r, &asked); err != nil {
		return err
	}
	guest, err := s.guest(r, asked, caller.Person)
	if err != nil {
		return err
	}
	code, expires, err := s.desk.Invite(caller, guest)
	if err != nil {
		return err
	}
	link := s.Origins.JoinLink(code)
	square, err := squareOf(link)
	if err != nil {
		return err
	}
	return answerJSON(w, inviteAnswer{
		Code: code.String(), Link: link, LeftMS: expires.Sub(s.Now()).Milliseconds(), QR: square,
	})
}

// guest checks whom an invitation is for. A client is named by their record
// where the request does not name them.
func (s *Server) guest(
	r *http.Request, asked inviteRequest, by store.Person,
) (access.Guest, error) {
	if asked.Person == by.ID && by.Doc.IsZero() {
		return access.Guest{Role: by.Role, Person: by.ID}, nil
	}
	switch asked.Role {
	case sessions.Coach, sessions.Assistant:
		if asked.Doc != "" {
			return access.Guest{}, fieldError{"doc", "left out for staff"}
		}
		if asked.Person != "" {
			return access.Guest{Role: asked.Role, Person: asked.Person}, nil
		}
		name, err := nameField("name", asked.Name)
		return access.Guest{Role: asked.Role, Name: name}, err
	case sessions.ClientOf:
	default:
		return access.Guest{}, fieldError{"role", "coach, assistant or client"}
	}
	doc, err := s.readable(r, by, asked.Doc)
	if err != nil {
		return access.Guest{}, err
	}
	content, err := s.Store.Document(r.Context(), doc)
	if err != nil {
		return access.Guest{}, err
	}
	clients := content.Records(sessions.KindClient)
	if len(clients) == 0 {
		return access.Guest{}, errNoDoc
	}
	name := asked.Name
	if name == "" {
		name, _ = clients[0].Text("name")
	}
	name, err = nameField("name", name)
	return access.Guest{Role: asked.Role, Name: name, Doc: doc}, err
}

func squareOf(link string) (qrAnswer, error) {
	code, err := qr.Encode(link, qr.M)
	if err != nil {
		return qrAnswer{}, err
	}
	square := qrAnswer{Size: code.Size}
	for y := range code.Size {
		var row strings.Builder
		for x := range code.Size {
			if code.Black(x, y) {
				row.WriteByte('1')
			} else {
				row.WriteByte('0')
			}
		}
		square.Rows = append(square.Rows, row.String())
	}
	return square, nil
}
