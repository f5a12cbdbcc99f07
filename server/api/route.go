package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"slices"
	"strings"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/wire"
)

// proof is what a request must show.
type proof string

const (
	open   proof = "nothing" // anyone
	ticket proof = "ticket"  // a one-use ticket as the first message of a websocket
	cookie proof = "cookie"  // the device secret
	bearer proof = "bearer"  // an access token
)

// Content types of bodies.
const (
	typeJSON = "application/json"
	typeSync = "application/vnd.evenhold.sync"
)

const maxJSONBytes = 16 << 10

// bodyBytes is the most that a body of a content type may have.
var bodyBytes = map[string]int64{typeJSON: maxJSONBytes, typeSync: wire.MaxBodyBytes}

// route is one row of the table of routes.
type route struct {
	method, path string
	proof        proof
	roles        []sessions.Role // who may use it, where there is a proof of who asks
	body         string          // content type of the request; "" for none
	handle       func(w http.ResponseWriter, r *http.Request, caller store.Member) error
}

var (
	everyone  = []sessions.Role{sessions.Owner, sessions.Coach, sessions.Assistant, sessions.ClientOf}
	ownerOnly = []sessions.Role{sessions.Owner}
	inviters  = []sessions.Role{sessions.Owner, sessions.Coach}
	readers   = []sessions.Role{sessions.Owner, sessions.Coach, sessions.ClientOf}
	nobodyYet []sessions.Role
)

// routes is the whole interface and who may use it.
func (s *Server) routes() []route {
	post, get := http.MethodPost, http.MethodGet
	return []route{
		{get, "/livez", open, nobodyYet, "", s.alive},
		{get, "/readyz", open, nobodyYet, "", s.ready},
		{post, "/api/join/look", open, nobodyYet, typeJSON, s.look},
		{post, "/api/join", open, nobodyYet, typeJSON, s.join},
		{post, "/api/passkeys/ask", open, nobodyYet, "", s.askPasskey},
		{post, "/api/passkeys/join", open, nobodyYet, typeJSON, s.comeBack},
		{post, "/api/passkeys/new", bearer, everyone, "", s.askNewPasskey},
		{post, "/api/passkeys", bearer, everyone, typeJSON, s.keepPasskey},
		{get, "/api/live", ticket, everyone, "", s.openSocket},
		{post, "/api/token", cookie, everyone, typeJSON, s.token},
		{post, "/api/device", bearer, everyone, typeJSON, s.renew},
		{post, "/api/forget", bearer, everyone, "", s.forget},
		{post, "/api/ticket", bearer, everyone, "", s.ticket},
		{post, "/api/invitations", bearer, inviters, typeJSON, s.invite},
		{post, "/api/knocks", bearer, inviters, "", s.knocks},
		{post, "/api/knocks/answer", bearer, inviters, typeJSON, s.answerKnock},
		{post, "/api/people", bearer, everyone, typeJSON, s.people},
		{post, "/api/people/role", bearer, ownerOnly, typeJSON, s.setRole},
		{post, "/api/people/out", bearer, ownerOnly, typeJSON, s.takeOut},
		{post, "/api/sharing", bearer, inviters, typeJSON, s.sharing},
		{post, "/api/sharing/set", bearer, inviters, typeJSON, s.share},
		{post, "/api/phones/out", bearer, everyone, typeJSON, s.shutOut},
		{post, "/api/export", bearer, readers, typeJSON, s.export},
		{post, "/api/sync", bearer, everyone, typeSync, s.sync},
	}
}

// serve checks what the row r asks for, then calls its handler.
func (s *Server) serve(row route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := s.admit(w, r, row); err != nil {
			s.answerProblem(w, r, err)
		}
	})
}

func (s *Server) admit(w http.ResponseWriter, r *http.Request, row route) error {
	caller, err := s.caller(r, row.proof)
	if err != nil {
		return err
	}
	if caller.Device != 0 && !slices.Contains(row.roles, caller.Person.Role) {
		return errForbidden
	}
	if row.body != "" {
		sent, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
		if err != nil || sent != row.body {
			return errMedia
		}
	}
	if row.method == http.MethodGet {
		return row.handle(w, r, caller) // health, and sockets, which stay
	}
	return s.inTurn(w, r, caller, row)
}

// caller returns who asks, looked up afresh so that a revoked phone is out at once.
func (s *Server) caller(r *http.Request, p proof) (store.Member, error) {
	switch p {
	case cookie:
		sent, err := r.Cookie(cookieName)
		if err != nil {
			return store.Member{}, access.ErrToken
		}
		return s.secrets.Holder(r.Context(), sent.Value)
	case bearer:
		token, found := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
		if !found {
			return store.Member{}, access.ErrToken
		}
		id, device, err := s.tokens.CheckAccess(token)
		if err != nil {
			return store.Member{}, err
		}
		m, err := s.Store.MemberByDevice(r.Context(), device)
		if err == nil && m.Person.ID != id {
			err = store.ErrNotFound
		}
		return m, unknownAsToken(err)
	}
	return store.Member{}, nil
}

func unknownAsToken(err error) error {
	if errors.Is(err, store.ErrNotFound) {
		return access.ErrToken
	}
	return err
}

// noRoute answers what no row of the table takes.
func (s *Server) noRoute(w http.ResponseWriter, r *http.Request) {
	for _, row := range s.routes() {
		if row.path == r.URL.Path {
			w.Header().Set("Allow", row.method)
			s.answerProblem(w, r, errMethod)
			return
		}
	}
	s.answerProblem(w, r, errNoRoute)
}

// readJSON reads the body as one JSON value into v.
func readJSON(r *http.Request, v any) error {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return fmt.Errorf("%w: %w", errBody, err)
	}
	if err := json.Unmarshal(body, v); err != nil {
		return fmt.Errorf("%w: %w", errBody, err)
	}
	return nil
}

// readBody reads all of a body that has at most limit bytes.
func readBody(w http.ResponseWriter, r *http.Request, limit int64) ([]byte, error) {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, limit))
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &tooLong):
		return nil, errTooLong
	case err != nil:
		return nil, fmt.Errorf("%w: %w", errBody, err)
	}
	return body, nil
}

func answerJSON(w http.ResponseWriter, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", typeJSON)
	_, _ = w.Write(body) // who has hung up need not be told
	return nil
}
