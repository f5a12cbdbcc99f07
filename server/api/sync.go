package api

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/exchange"
	"evenhold/sync/wire"
)

// roleHeader says with each answer what the phone's person is by now, for a coach may have become
// an assistant since it joined.
const roleHeader = "Evenhold-Role"

// awayHeader says after how many days without contact a phone is to be emptied. It is left out
// where the practice does not want that.
const awayHeader = "Evenhold-Empty-After-Days"

// sync is one round trip of a phone: what it pushes is judged and stored, then it
// gets the verdicts, news and pages. What it was told as accepted is on the disk.
func (s *Server) sync(w http.ResponseWriter, r *http.Request, caller store.Member) error {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return fmt.Errorf("%w: %w", errBody, err)
	}
	nowMS := s.Now().UnixMilli()
	q, err := wire.ParseRequest(body)
	if errors.Is(err, wire.ErrVersion) || err == nil && q.Schema != wire.Schema {
		return answerSync(w, q, wire.Response{
			Schema: wire.Schema, Number: q.Number, WallMS: nowMS, Problem: wire.CodeSchema,
		})
	}
	if err != nil {
		return fmt.Errorf("%w: %w", errBody, err)
	}
	if err := s.checkDevice(r, q, caller); err != nil {
		return err
	}
	if len(q.Push) > 0 {
		if err := s.Room(); err != nil {
			return err
		}
	}
	pushed, err := s.Store.Push(q, caller, access.Rules(caller.Person), nowMS)
	if errors.Is(err, store.ErrNotFound) {
		return access.ErrToken // revoked since it was let in
	}
	if err != nil {
		return err
	}
	s.counts.push(pushed)
	answer, err := s.answer(r, q, caller, pushed, nowMS)
	if err != nil {
		return err
	}
	if err := s.tell(r, pushed, caller); err != nil {
		// The push stands; the others learn of it a little later by asking.
		s.Log.WarnContext(r.Context(), "news not told", "request", requestID(r),
			"error", err.Error())
	}
	if err := s.countKnocks(w, r, caller); err != nil {
		return err
	}
	w.Header().Set(roleHeader, string(caller.Person.Role))
	if s.EmptyAfterDays > 0 {
		w.Header().Set(awayHeader, strconv.Itoa(s.EmptyAfterDays))
	}
	return answerSync(w, q, answer)
}

// checkDevice asks a phone that has taken a further identity to fetch the token
// that goes with it. Any other device that is not the token's own is judged, and found out.
func (s *Server) checkDevice(r *http.Request, q wire.Request, caller store.Member) error {
	if q.Device == caller.Device {
		return nil
	}
	m, err := s.Store.MemberByDevice(r.Context(), q.Device)
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err == nil && m.Person.ID == caller.Person.ID {
		return access.ErrToken
	}
	return err
}

// answer puts the response together. A phone that the server does not know as it
// knows itself, or whose cursors are of an earlier epoch, sorts that out first.
func (s *Server) answer(r *http.Request, q wire.Request, caller store.Member,
	pushed store.Pushed, nowMS int64) (wire.Response, error) {
	epoch, err := s.Store.Epoch(r.Context())
	if err != nil {
		return wire.Response{}, err
	}
	answer := exchange.Answer(q, pushed.Judgement, epoch, nowMS)
	answer.Seen = q.Seen
	isStrange := pushed.Problem != "" && pushed.Problem != wire.CodeGap
	if isStrange || pushed.IsUnclear || q.Epoch != 0 && q.Epoch != epoch {
		return answer, nil
	}
	news, err := s.Store.Pull(r.Context(), q, caller)
	if err != nil {
		return wire.Response{}, err
	}
	if err := s.Store.KeepReading(r.Context(), caller, news.Pages, nowMS); err != nil {
		return wire.Response{}, err
	}
	answer.Seen, answer.Changed, answer.MoreChanged = news.Seen, news.Changed, news.More
	answer.Pages, answer.Gone = news.Pages, news.Gone
	return answer, nil
}

// tell lets the open phones of those who may read what changed know that it did.
func (s *Server) tell(r *http.Request, pushed store.Pushed, caller store.Member) error {
	if len(pushed.Changed) == 0 {
		return nil
	}
	readers, err := s.Store.Readers(r.Context(), pushed.Changed)
	if err != nil {
		return err
	}
	s.Hub.News(readers, caller.Device)
	return nil
}

func answerSync(w http.ResponseWriter, q wire.Request, answer wire.Response) error {
	w.Header().Set("Content-Type", typeSync)
	_, _ = w.Write(answer.AppendAnswer(nil, q)) // who has hung up asks again
	return nil
}
