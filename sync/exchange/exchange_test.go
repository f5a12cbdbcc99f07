package exchange_test

import (
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

const (
	phoneID  = clock.Device(0x1111)
	otherID  = clock.Device(0x2222)
	nowMS    = int64(1_700_000_000_000)
	dayMS    = int64(86_400_000)
	epochOne = uint64(1)
)

// allow is rules that take everything in but one kind.
type allow struct{ except string }

func (a allow) May(op record.Operation) string {
	if op.Kind == a.except {
		return wire.CodeForbidden
	}
	return ""
}

// desk is a server for one phone: its state, what it accepted, its refusals.
type desk struct {
	state   exchange.DeviceState
	held    []record.Operation
	refused []wire.Verdict
	except  string
}

func newDesk() *desk {
	return &desk{state: exchange.DeviceState{Device: phoneID, Epoch: epochOne}}
}

// judge judges and stores.
func (d *desk) judge(q wire.Request) exchange.Judgement {
	dev := d.state
	for _, v := range d.refused {
		if v.Seq > q.PushFrom {
			dev.Refused = append(dev.Refused, v)
		}
	}
	j := exchange.Judge(q, dev, allow{d.except}, nowMS)
	if j.Problem == "" {
		for _, r := range j.Refused {
			d.refused = append(d.refused, wire.Verdict{Seq: r.Op.Seq, Code: r.Code})
		}
		d.held = append(d.held, j.Accepted...)
		d.state = j.State
		d.state.Refused = nil
	}
	return j
}

func (d *desk) answer(q wire.Request) wire.Response {
	return exchange.Answer(q, d.judge(q), d.state.Epoch, nowMS)
}

// fresh returns a phone that has done nothing.
func fresh() *exchange.Phone {
	return exchange.NewPhone(exchange.State{Device: phoneID}, nil)
}

// write records one field of a set in the phone's own first document.
func write(t *testing.T, p *exchange.Phone, kind string, value, readMS int64) record.Operation {
	t.Helper()
	doc := record.ID{Device: phoneID, Seq: 1}
	fields := []record.FieldValue{{Field: "holdMS", Value: record.Int(value)}}
	_, ops, err := p.Author().Create(p.Open(doc), kind, fields, p.WallMS(readMS))
	if err != nil {
		t.Fatal(err)
	}
	return ops[0]
}

func ask(p *exchange.Phone) wire.Request { return askAt(p, nowMS) }

func askAt(p *exchange.Phone, readMS int64) wire.Request {
	return p.Request(readMS, exchange.Limits{Push: wire.MaxPush, Pulls: wire.MaxPulls})
}

func handle(t *testing.T, p *exchange.Phone, resp wire.Response, readMS int64) exchange.Outcome {
	t.Helper()
	out, err := p.Handle(resp, readMS)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// exchangeOnce is one round trip that arrives both ways.
func exchangeOnce(t *testing.T, p *exchange.Phone, d *desk) exchange.Outcome {
	t.Helper()
	resp := d.answer(ask(p))
	if resp.IsUnclear {
		if out := handle(t, p, resp, nowMS); !out.IsMore {
			t.Fatal("what is unclear is not asked again")
		}
		resp = d.answer(ask(p))
	}
	return handle(t, p, resp, nowMS)
}

// again returns a phone started anew from what was stored.
func again(t *testing.T, p *exchange.Phone) *exchange.Phone {
	t.Helper()
	state, err := exchange.ParseState(p.State().Append(nil))
	if err != nil {
		t.Fatal(err)
	}
	var docs []*record.Doc
	for _, id := range p.Docs() {
		d, _ := p.Doc(id)
		docs = append(docs, d.Without(nil))
	}
	return exchange.NewPhone(state, docs)
}
