package replay

import (
	"errors"
	"fmt"

	"evenhold/pwa/bench/merge/trace"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

const weekMS = 7 * 24 * 60 * 60 * 1000

// errUnheard says that a phone was not told of every record that changed.
var errUnheard = errors.New("the phone was not told of every record that changed")

// Away returns the bytes of the one round trip in which the client-facing phone B, away for a week,
// learns which of a practice's records changed: of so many clients, each with a session in that
// week. The changes themselves are asked for afterwards and not counted.
func Away(clients int, startMS int64) (int, error) {
	h, err := NewHouse(startMS)
	if err != nil {
		return 0, err
	}
	docs := make([]record.ID, clients)
	coach := h.phones[trace.PhoneA]
	pen := coach.Author()
	write := func(doc record.ID, kind, field string, v record.Value) error {
		fields := []record.FieldValue{{Field: field, Value: v}}
		_, _, err := pen.Create(coach.Open(doc), kind, fields, h.wallMS)
		return err
	}
	for i := range docs {
		docs[i] = pen.NextID()
		if _, err := pen.Write(coach.Open(docs[i]), docs[i], "client", "name",
			record.Text(fmt.Sprint("Example ", i)), h.wallMS); err != nil {
			return 0, err
		}
	}
	for _, name := range []string{trace.PhoneA, trace.PhoneB} {
		if _, err := h.Sync(name); err != nil {
			return 0, err
		}
	}
	h.wallMS += weekMS
	for _, doc := range docs {
		if err := write(doc, "session", "effort", record.Int(5)); err != nil {
			return 0, err
		}
	}
	if _, err := h.Sync(trace.PhoneA); err != nil {
		return 0, err
	}
	request := h.Ask(trace.PhoneB)
	answer, err := h.Answer(request)
	if err != nil {
		return 0, err
	}
	if _, err := h.Take(trace.PhoneB, answer); err != nil {
		return 0, err
	}
	return len(request) + len(answer), h.knows(trace.PhoneB, docs)
}

// knows returns errUnheard unless the phone's next requests ask for each of the documents.
func (h *House) knows(name string, docs []record.ID) error {
	limits := exchange.Limits{Push: wire.MaxPush, Pulls: len(docs)}
	asked := map[record.ID]bool{}
	for _, pull := range h.phones[name].Request(h.wallMS, limits).Pulls {
		asked[pull.Doc] = true
	}
	for _, doc := range docs {
		if !asked[doc] {
			return errUnheard
		}
	}
	return nil
}
