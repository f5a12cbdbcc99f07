// Package replay carries the merge's trace out on our own core: two phones and a server, each with
// the very packages that the product runs, in memory. Natively and as WebAssembly it is the same
// code, so the two can be told beside each other.
//
// It reads no clock and no disk. Times are milliseconds since 1970; a message is the bytes of one
// request or response, whole, as it would leave the phone.
package replay

import (
	"errors"

	"evenhold/pwa/bench/merge/trace"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// devices are the phones' identities: as random as real ones, so no compressor can foretell them.
var devices = map[string]clock.Device{
	trace.PhoneA: 0x9d3c_71e8_04b5_6f2a, trace.PhoneB: 0x5a17_c60f_e392_8bd4,
}

// Seed makes the trace that everything is measured on.
const Seed = 20240917

// House is two phones and their server.
type House struct {
	server *server
	phones map[string]*exchange.Phone
	doc    record.ID
	names  names
	wallMS int64 // of the last commit
	kept   kept
	bared  wire.Request // the last one that Bare was asked about
}

// NewHouse returns two phones that have heard the server's time, and one client's record on both.
func NewHouse(startMS int64) (*House, error) {
	h := &House{
		server: newServer(), phones: map[string]*exchange.Phone{}, names: names{},
		doc: record.ID{Device: devices[trace.PhoneA], Seq: 1}, wallMS: startMS,
	}
	for name, device := range devices {
		h.phones[name] = exchange.NewPhone(exchange.State{Device: device}, nil)
	}
	pen := h.phones[trace.PhoneA].Author()
	if _, err := pen.Write(h.phones[trace.PhoneA].Open(h.doc), h.doc, "athlete", "label",
		record.Text("Example"), startMS); err != nil {
		return nil, err
	}
	for _, name := range []string{trace.PhoneA, trace.PhoneB} {
		if _, err := h.Sync(name); err != nil {
			return nil, err
		}
	}
	return h, nil
}

// Commit carries out a line that is a commit.
func (h *House) Commit(line trace.Line) error {
	h.wallMS = max(h.wallMS, line.AtMS)
	return h.names.write(h.phones[line.Phone], h.doc, line)
}

// Ask returns the bytes of a phone's next request.
func (h *House) Ask(name string) []byte {
	limits := exchange.Limits{Push: wire.MaxPush, Pulls: wire.MaxPulls}
	return h.phones[name].Request(h.wallMS, limits).Append(nil)
}

// Answer has the server answer a request.
func (h *House) Answer(request []byte) ([]byte, error) { return h.server.answer(request, h.wallMS) }

// Take has a phone take an answer in, and reports whether it wants to ask again at once.
func (h *House) Take(name string, answer []byte) (isMore bool, err error) {
	response, err := h.phones[name].Read(answer)
	if err != nil {
		return false, err
	}
	outcome, err := h.phones[name].Handle(response, h.wallMS)
	if err == nil && (outcome.Problem != "" || len(outcome.Refused) > 0) {
		err = errors.New("the server refused: " + outcome.Problem)
	}
	return outcome.IsMore, err
}

// errTalk says that a phone and the server do not come to an end.
var errTalk = errors.New("the phone still asks for more after 100 round trips")

// Sync has a phone and the server talk until both have everything. It returns the messages.
func (h *House) Sync(name string) ([][]byte, error) {
	var sent [][]byte
	for range 100 {
		request := h.Ask(name)
		answer, err := h.Answer(request)
		if err != nil {
			return nil, err
		}
		sent = append(sent, request, answer)
		if isMore, err := h.Take(name, answer); err != nil || !isMore {
			return sent, err
		}
	}
	return nil, errTalk
}

// Record returns the client's record as a phone has it.
func (h *House) Record(name string) *record.Doc { return h.phones[name].Open(h.doc) }
