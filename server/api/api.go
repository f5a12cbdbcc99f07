// Package api is the server's face to the network: the routes of the interface
// with who may use each, the sync exchange, problem answers, and the files of the
// phone app.
//
// What a route asks for stands in one table; what it answers is described in
// openapi.json. Errors are application/problem+json, RFC 9457, 2023.
package api

import (
	"fmt"
	"io/fs"
	"log/slog"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"github.com/rs/cors"

	"evenhold/server/access"
	"evenhold/server/live"
	"evenhold/server/store"
)

// Config is what the interface is made from.
type Config struct {
	Store   *store.Store
	Key     access.Key
	Hub     *live.Hub
	Now     func() time.Time
	Log     *slog.Logger
	Origins Origins
	App     fs.FS           // the built phone app
	Claimed func()          // called when an owner has claimed the practice
	Closing <-chan struct{} // closed when the server is about to stop
	Proxies []netip.Prefix  // whose word is taken on where a request comes from
	Strict  bool            // browsers are told to use https only: the certificate is a public one
	// Room returns store.ErrFull when what is left of the disk is kept for signing in and the
	// like; nil for no such bound.
	Room func() error
	// EmptyAfterDays is after how many days without contact a phone on which all is sent empties
	// itself; 0 for never.
	EmptyAfterDays int
}

// Server answers requests. It is safe for concurrent use.
type Server struct {
	Config
	desk     *access.Desk
	passkeys *access.Passkeys
	tokens   *access.Tokens
	tickets  *access.Tickets
	secrets  *access.Secrets
	live     *live.Endpoint
	app      *app
	counts   counts
	turns    turns
	probing  sync.Mutex
}

// New returns the server made from c, or an error if the phone app's files cannot be read.
func New(c Config) (*Server, error) {
	if c.Room == nil {
		c.Room = func() error { return nil }
	}
	app, err := newApp(c.App)
	if err != nil {
		return nil, fmt.Errorf("read the phone app: %w", err)
	}
	desk := access.NewDesk(c.Store, c.Key, c.Now)
	passkeys, err := access.NewPasskeys(desk, c.Origins.Public())
	if err != nil {
		return nil, err
	}
	tokens := access.NewTokens(c.Key, c.Origins.Public(), c.Now)
	s := &Server{
		Config: c, desk: desk, passkeys: passkeys, tokens: tokens,
		tickets: access.NewTickets(tokens), app: app,
		secrets: access.NewSecrets(c.Store, c.Key, c.Now), turns: newTurns(),
	}
	s.live = live.NewEndpoint(c.Hub, s.takeTicket, s.Origins.mayOpenSocket)
	return s, nil
}

// Desk returns the desk that makes and takes invitations.
func (s *Server) Desk() *access.Desk { return s.desk }

// Handler returns the whole of it: routes and app, behind checks that hold for all.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, r := range s.routes() {
		mux.Handle(r.method+" "+r.path, s.serve(r))
	}
	mux.HandleFunc("/api/", s.noRoute)
	mux.Handle("/", s.app)

	sameOrigin := http.NewCrossOriginProtection()
	for _, origin := range s.Origins.All() {
		if err := sameOrigin.AddTrustedOrigin(origin); err != nil {
			panic("api: an origin that was checked is refused: " + err.Error())
		}
	}
	sameOrigin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.answerProblem(w, r, errOrigin)
	}))
	h := sameOrigin.Handler(mux)
	if others := s.Origins.others(); len(others) > 0 {
		// An access check it is not: a refused origin still reaches the handler, and
		// is stopped there. It only lets the named pages read the answers.
		h = cors.New(cors.Options{
			AllowedOrigins: others, AllowCredentials: true,
			AllowedMethods: []string{http.MethodPost},
			AllowedHeaders: []string{"Authorization", "Content-Type"},
			ExposedHeaders: []string{"Retry-After", roleHeader, awayHeader, knocksHeader},
		}).Handler(h)
	}
	return s.logged(s.recovered(withHeaders(h, s.Strict)))
}
