package wire

import (
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Schema is the number of the meaning of kinds and fields that this program writes. It grows
// when an older program could not carry on safely.
const Schema = 1

// Request is what a phone sends: in one round trip it pushes, asks for news and pulls.
type Request struct {
	Schema int
	Device clock.Device
	Epoch  uint64 // of the server as last heard; 0 before the first contact
	Number uint64 // the phone's count of requests, given back in the response
	WallMS int64  // the phone's own reading, in milliseconds since 1970
	Seen   uint64 // the practice's change number up to which the phone knows what changed

	// PushFrom is the number of the operation before Push[0] and Chain the chain value after
	// it. The phone has heard the verdicts up to PushFrom.
	PushFrom uint64
	Chain    [32]byte
	Push     []record.Operation // this device's, in order of Seq, without gaps
	// Withdrawn lists numbers within Push, in order, that the server must refuse: they were
	// refused before, by a server that has since been set back.
	Withdrawn []uint64

	Pulls []Pull

	// IsTaught asks for version 3, there and back; of a request that was read it says what it came
	// as. IsBrief says that Proof stands in place of Epoch and Chain, which version 3 then leaves
	// out: for a phone that takes it that the server knows them.
	IsTaught, IsBrief bool
	Proof             uint64
}

// Pull asks for a document's operations past a cursor. Unless IsWhole, those of the asking
// device may be left out: it has them.
type Pull struct {
	Doc     record.ID
	After   uint64
	IsWhole bool
}

// Append appends the frame of q to b.
func (q Request) Append(b []byte) []byte {
	if q.IsTaught {
		if brief := briefFrame(b, typeRequest, nil, q.fillBrief); brief != nil {
			return brief
		}
	}
	return frame(b, typeRequest, q.fill)
}

func (q Request) fill(w *writer) {
	w.uvarint(uint64(q.Schema))
	w.device(q.Device)
	w.uvarint(q.Epoch)
	w.uvarint(q.Number)
	w.varint(q.WallMS)
	w.uvarint(q.Seen)
	w.uvarint(q.PushFrom)
	w.hash(q.Chain)
	w.block(q.Push)
	w.uvarint(uint64(len(q.Withdrawn)))
	for _, seq := range q.Withdrawn {
		w.uvarint(seq)
	}
	w.uvarint(uint64(len(q.Pulls)))
	for _, pull := range q.Pulls {
		w.id(pull.Doc)
		w.uvarint(pull.After)
		w.flag(pull.IsWhole)
	}
}

// ParseRequest reads what Request.Append wrote. It returns an error of the closed list.
func ParseRequest(b []byte) (Request, error) {
	if len(b) > 0 && b[0] == Version {
		return parseBriefRequest(b)
	}
	r := open(b, typeRequest, MaxBodyBytes)
	q := Request{Schema: r.small(), Device: r.device()}
	q.Epoch, q.Number = r.uvarint(), r.uvarint()
	q.WallMS, q.Seen = r.varint(), r.uvarint()
	q.PushFrom, q.Chain = r.uvarint(), r.hash()
	q.Push = r.block(MaxPush)
	if n := r.items(MaxPush); n > 0 {
		q.Withdrawn = make([]uint64, n)
	}
	for i := range q.Withdrawn {
		q.Withdrawn[i] = r.uvarint()
	}
	if n := r.items(MaxPulls); n > 0 {
		q.Pulls = make([]Pull, n)
	}
	for i := range q.Pulls {
		q.Pulls[i] = Pull{Doc: r.id(), After: r.uvarint(), IsWhole: r.flag()}
	}
	if err := r.close(); err != nil {
		return Request{}, err
	}
	return q, nil
}
