package replay

import (
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// kept is a phone as it was stored.
type kept struct {
	state exchange.State
	docs  [][]byte
}

// Keep stores a phone as it is now, in place of what was kept before.
func (h *House) Keep(name string) {
	phone := h.phones[name]
	h.kept = kept{state: phone.State()}
	for _, id := range phone.Docs() {
		h.kept.docs = append(h.kept.docs, wire.AppendSnapshot(nil, phone.Open(id)))
	}
}

// Restore starts a phone anew from what was kept.
func (h *House) Restore(name string) error {
	var docs []*record.Doc
	for _, stored := range h.kept.docs {
		d, err := wire.Snapshot(stored)
		if err != nil {
			return err
		}
		docs = append(docs, d)
	}
	h.phones[name] = exchange.NewPhone(h.kept.state, docs)
	return nil
}

// Bare returns the message without the operations in it; the difference is what they cost. An
// answer is read beside the request that came here last.
func (h *House) Bare(message []byte) ([]byte, error) {
	if q, err := wire.ParseRequest(message); err == nil {
		h.bared = q
		q.Push = nil
		return q.Append(nil), nil
	}
	answer, err := wire.ParseAnswer(message, h.bared)
	if err != nil {
		return nil, err
	}
	answer.Pages = nil
	return answer.AppendAnswer(nil, h.bared), nil
}
