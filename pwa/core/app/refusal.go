package app

import (
	"errors"

	"evenhold/internal/sessions"
)

// refusal words an error for people: what happened, what is safe, what to do.
func (a *App) refusal(err error) *Refusal {
	if r, ok := errors.AsType[*Refusal](err); ok {
		return r
	}
	for _, known := range []struct {
		err error
		key string
	}{
		{sessions.ErrPhase, "error.phase"}, {sessions.ErrOtherSide, "error.other_side"},
		{sessions.ErrNoteWant, "error.rest_note"}, {sessions.ErrTooLong, "error.hold_too_long"},
		{sessions.ErrBackwards, "error.backwards"}, {sessions.ErrReason, "error.choice"},
	} {
		if errors.Is(err, known.err) {
			return &Refusal{Code: "phase", Text: say(known.key)}
		}
	}
	return &Refusal{Code: "internal", Text: say("error.internal", "detail", err.Error())}
}
