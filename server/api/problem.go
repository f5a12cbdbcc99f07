package api

import (
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"time"

	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/wire"
)

// Errors that arise in this package.
var (
	errBody      = errors.New("the request cannot be read")
	errMedia     = errors.New("the request is of another content type")
	errTooLong   = errors.New("the request is too long")
	errForbidden = errors.New("this role may not do this")
	errOrigin    = errors.New("the request comes from another site")
	errNoRoute   = errors.New("no such route")
	errMethod    = errors.New("no such method on this route")
	errNoDoc     = errors.New("no such document")
	errTrouble   = errors.New("the server failed")
	errField     = errors.New("a field is not usable")
)

// fieldError names the field of a request that is not usable and what it must be.
type fieldError struct{ field, want string }

func (e fieldError) Error() string { return e.field + " must be " + e.want }
func (e fieldError) Unwrap() error { return errField }

// problem is what one kind of error is answered with. detail says what happened,
// what is safe and what to do.
type problem struct {
	err    error
	status int
	code   string
	title  string
	detail string
	retry  time.Duration // 0 for no Retry-After
}

// problems is the closed list. The first entry whose error is in the chain counts.
var problems = []problem{
	{errBody, http.StatusBadRequest, wire.CodeMalformed, "The request cannot be read",
		"What the phone sent arrived damaged or in another format. Nothing was changed, and what" +
			" is on the phone is safe. Bring the app up to date and try again.", 0},
	{errField, http.StatusUnprocessableEntity, "field", "Something is missing or cannot be right",
		"A field of the request is empty, too long or of the wrong form. Nothing was changed." +
			" Correct it and send it again.", 0},
	{errMedia, http.StatusUnsupportedMediaType, "media", "The request is of another content type",
		"The server takes only the content type named in its description. Nothing was changed.", 0},
	{errTooLong, http.StatusRequestEntityTooLarge, wire.CodeTooLong, "The request is too long",
		"It is longer than the server takes at once. Nothing was changed, and what is on the phone" +
			" is safe. Send it in smaller parts.", 0},
	{access.ErrChallenge, http.StatusUnauthorized, "proof", "This phone has to show its key",
		"The sign-in goes with a key that only the right phone holds. Nothing was changed. The app" +
			" answers this by itself; if it cannot, ask the practice for a new invitation.", 0},
	{store.ErrWipe, http.StatusUnauthorized, "wipe", "This phone was reported lost",
		"The practice has shut this phone out and asks it to empty itself. What had arrived is" +
			" safe at the practice. To come back, ask it for a new invitation.", 0},
	{store.ErrRevoked, http.StatusUnauthorized, "revoked", "This phone was shut out",
		"The practice has ended this phone's access. What had arrived is safe at the practice. To" +
			" come back, ask it for a new invitation.", 0},
	{store.ErrEnded, http.StatusUnauthorized, "ended", "This phone's sign-in was ended",
		"A copy of it was used, so the practice ended it for safety. What is on the phone is safe" +
			" and goes on working. Ask the practice for a new invitation and open it here.", 0},
	{access.ErrToken, http.StatusUnauthorized, "signin", "This phone is not signed in",
		"Its pass is over or was taken back. What is on the phone is safe and goes on working." +
			" If this stays so, ask the practice for a new invitation.", 0},
	{errForbidden, http.StatusForbidden, wire.CodeForbidden, "Not yours to do",
		"Your role in this practice does not include this. Nothing was changed. Ask the owner.", 0},
	{access.ErrInvitation, http.StatusForbidden, wire.CodeForbidden, "Not yours to invite",
		"Your role in this practice cannot give this invitation. Nothing was changed. Ask the" +
			" owner.", 0},
	{errOrigin, http.StatusForbidden, "origin", "The request comes from another site",
		"A page of another site asked your browser to do this. Nothing was changed. Open the app" +
			" at its own address.", 0},
	{errNoRoute, http.StatusNotFound, "route", "There is nothing at this address",
		"The server has no such address. Nothing was changed. Check the address.", 0},
	{errMethod, http.StatusMethodNotAllowed, "method", "This address does not take this method",
		"The address is right but is asked in another way. Nothing was changed.", 0},
	{errNoDoc, http.StatusNotFound, wire.CodeUnknownDoc, "The record is not here yet",
		"The server has not received this client record. It is safe on the phone that made it." +
			" Wait until that phone says that all is sent, then try again.", 0},
	{access.ErrSlow, http.StatusTooManyRequests, "slow", "Too many wrong codes",
		"Several wrong codes came from this connection. Your invitation is still good. Wait a" +
			" little, check the code letter by letter and try again.", access.SlowFor},
	{store.ErrWrongCode, http.StatusNotFound, "unknown", "No invitation has this code",
		"There is no open invitation with this code. Nothing was changed. Check the code letter by" +
			" letter; after five wrong tries an invitation locks.", 0},
	{access.ErrPasskey, http.StatusForbidden, "passkey", "This passkey does not let you in",
		"The practice does not know it, or it ended with the phone on which it was made, or the" +
			" question was answered too late. Nothing was changed. Try again, or ask the practice for" +
			" an invitation.", 0},
	{access.ErrNoPasskeys, http.StatusNotFound, "no_passkeys", "There are no passkeys here",
		"The server is reached by a number, and passkeys go with a name. Nothing was changed. Ask" +
			" the practice for an invitation.", 0},
	{store.ErrLocked, http.StatusLocked, "locked", "This invitation is locked",
		"It was tried with five wrong codes. Nobody came in with it. Ask for a new invitation.", 0},
	{store.ErrUsed, http.StatusGone, "used", "This invitation has been used",
		"An invitation lets one phone in, once. If it was not you who used it, tell the practice" +
			" now; otherwise ask for a new invitation.", 0},
	{store.ErrExpired, http.StatusGone, "expired", "This invitation has expired",
		"Its time is over and nobody came in with it. Ask for a new invitation.", 0},
	{store.ErrTurnedAway, http.StatusForbidden, "turned_away", "This phone was turned away",
		"Whoever made the invitation did not let this phone in. Nothing was changed. If it is yours," +
			" ask them for a new invitation.", 0},
	{store.ErrAnswered, http.StatusConflict, "answered", "Somebody was quicker",
		"This phone was let in or turned away on another phone a moment ago. That stands, and" +
			" nothing was changed now. The list of phones says who is in.", 0},
	{errNoKnock, http.StatusNotFound, "no_knock", "No such phone waits",
		"No phone waits to be let in by you with this invitation. Nothing was changed. Make a new" +
			" code if somebody is to come in.", 0},
	{store.ErrTaken, http.StatusConflict, "taken", "This phone's identity is in use",
		"Another phone, or a copy of this one, has the same identity. Nothing was changed. Reload" +
			" the app so that it takes a new identity, and try again.", 0},
	{store.ErrLimit, http.StatusTooManyRequests, wire.CodeTooMany, "A day's share is used up",
		"This phone has sent more today than the server takes from one phone in a day. What is" +
			" unsent is safe on the phone and will be sent later.", time.Hour},
	{store.ErrFull, http.StatusInsufficientStorage, wire.CodeFull, "The server has no room",
		"The server's disk is full and nothing was taken in. All work is safe on the phone and" +
			" will be sent when there is room. Tell whoever looks after the server.", time.Minute},
	{store.ErrUnsafe, http.StatusServiceUnavailable, wire.CodeBusy, "The server's disk has a fault",
		"The disk did not keep what it was given, so nothing was taken in and the server starts" +
			" again. All work is safe on the phone and will be sent again by itself. If this stays so," +
			" tell whoever looks after the server.", time.Minute},
	{store.ErrBusy, http.StatusServiceUnavailable, wire.CodeBusy, "The server is busy",
		"The server could not take this in just now. All work is safe on the phone and will be" +
			" sent again by itself.", 5 * time.Second},
	{errTrouble, http.StatusInternalServerError, "trouble", "The server has a fault",
		"Something went wrong on the server and nothing was taken in. All work is safe on the" +
			" phone. Try again later; if it stays so, tell whoever looks after the server the time" +
			" and the request number.", 0},
}

// problemOf returns the entry for err; what is not listed is the server's own
// fault and its text stays in the log.
func problemOf(err error) problem {
	for _, p := range problems {
		if errors.Is(err, p.err) {
			return p
		}
	}
	return problems[len(problems)-1]
}

// answerProblem is the one place where an error becomes a status.
func (s *Server) answerProblem(w http.ResponseWriter, r *http.Request, err error) {
	p := problemOf(err)
	s.Log.DebugContext(r.Context(), "problem", "request", requestID(r), "code", p.code)
	if p.err == errTrouble {
		s.Log.ErrorContext(r.Context(), "request failed", "request", requestID(r), "error", err.Error())
	}
	members := map[string]any{
		"type": "urn:evenhold:problem:" + p.code, "title": p.title, "status": p.status,
		"detail": p.detail, "code": p.code,
	}
	var bad fieldError
	if errors.As(err, &bad) {
		members["field"] = bad.field
		members["detail"] = "The field " + bad.field + " must be " + bad.want + ". Nothing was" +
			" changed. Correct it and send it again."
	}
	var asked access.Challenged
	if errors.As(err, &asked) {
		members["challenge"] = asked.Challenge
	}
	body, err := json.Marshal(members)
	if err != nil {
		panic("api: problem " + p.code + ": " + err.Error())
	}
	if p.retry > 0 {
		seconds := int64((p.retry + time.Second - 1) / time.Second)
		w.Header().Set("Retry-After", strconv.FormatInt(seconds, 10))
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(p.status)
	_, _ = w.Write(body) // who has hung up need not be told
}
