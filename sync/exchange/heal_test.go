package exchange_test

import (
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// twins returns two phones that share an identity and what they had written together.
func twins(t *testing.T, d *desk) (a, b *exchange.Phone) {
	t.Helper()
	a = fresh()
	exchangeOnce(t, a, d)
	write(t, a, "set", 1, nowMS)
	exchangeOnce(t, a, d)
	b = again(t, a)
	exchangeOnce(t, b, d)
	return a, b
}

func TestPhone_X5_TwinIsFoundOut(t *testing.T) {
	d := newDesk()
	a, b := twins(t, d)
	write(t, a, "set", 20, nowMS)
	write(t, b, "set", 30, nowMS)
	exchangeOnce(t, a, d)
	if out := exchangeOnce(t, b, d); !out.IsForked {
		t.Fatalf("outcome %+v", out)
	}
	if len(d.held) != 2 || a.Unsent() != 0 || b.Unsent() != 1 {
		t.Errorf("server holds %d, unsent %d and %d", len(d.held), a.Unsent(), b.Unsent())
	}
	if q := ask(b); len(q.Push) != 0 {
		t.Error("the twin pushes on")
	}
}

func TestPhone_X5_LostMemoryIsFoundOut(t *testing.T) {
	d := newDesk()
	a, _ := twins(t, d)
	old := again(t, a)
	write(t, a, "set", 2, nowMS)
	exchangeOnce(t, a, d)
	// The phone is set back to a backup and asks before it writes anything.
	if out := exchangeOnce(t, old, d); !out.IsForked {
		t.Errorf("outcome %+v", out)
	}
}

// TestPhone_X5_TwinOnASetBackServer: the server went back to before this phone's operations and
// then took in a twin's under the same numbers.
func TestPhone_X5_TwinOnASetBackServer(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	write(t, p, "set", 1, nowMS)
	write(t, p, "set", 2, nowMS)
	exchangeOnce(t, p, d)
	back := exchange.DeviceState{Device: phoneID, Have: 1, Chain: [32]byte{1}}
	resp := exchange.Answer(ask(p), exchange.Judgement{State: back}, 2, nowMS)
	if out := handle(t, p, resp, nowMS); !out.IsForked {
		t.Errorf("outcome %+v", out)
	}
}

// TestPhone_X6_RenewedWritesAgain: after a fork the server's share of the twin's operations is
// left alone, the rest is written again: a record that both twins named alike becomes two, and
// a reference to it follows.
func TestPhone_X6_RenewedWritesAgain(t *testing.T) {
	d := newDesk()
	a, b := twins(t, d)
	exchangeOnce(t, a, d)
	write(t, a, "set", 20, nowMS)
	exchangeOnce(t, a, d)
	mine := write(t, b, "set", 30, nowMS)
	refers, err := b.Author().Write(
		b.Open(mine.Doc), mine.Record, "set", "follows", record.Text(mine.Record.String()), nowMS)
	if err != nil {
		t.Fatal(err)
	}
	if out := exchangeOnce(t, b, d); !out.IsForked {
		t.Fatal("not found out")
	}
	out := b.Renew(otherID)
	if len(out.Removed) != 2 || b.Unsent() != 2 {
		t.Fatalf("removed %d, unsent %d", len(out.Removed), b.Unsent())
	}
	b = again(t, b) // orphans survive a restart
	news := wire.Changed{Doc: mine.Doc, Head: uint64(len(d.held))}
	other := &desk{state: exchange.DeviceState{Device: otherID, Epoch: epochOne}}
	resp := other.answer(ask(b))
	resp.Changed, resp.Seen = []wire.Changed{news}, 1
	handle(t, b, resp, nowMS)
	if b.Unsent() != 2 {
		t.Fatal("written again before everything was pulled")
	}
	resp = other.answer(ask(b))
	resp.Seen = 1
	resp.Pages = []wire.Page{{Doc: mine.Doc, To: news.Head, Head: news.Head, Ops: d.held}}
	out = handle(t, b, resp, nowMS)
	var anew []record.Operation
	for _, op := range out.Applied {
		if op.Stamp.Device == otherID {
			anew = append(anew, op)
		}
	}
	if len(anew) != 2 || anew[0].Value != mine.Value || anew[0].Record == mine.Record {
		t.Fatalf("written again: %+v", anew)
	}
	if want := record.Text(anew[0].Record.String()); anew[1].Value != want ||
		anew[1].Field != refers.Field || anew[1].Record != anew[0].Record {
		t.Errorf("the reference is %v, want %v", anew[1].Value, want)
	}
	doc, _ := b.Doc(mine.Doc)
	if sets := doc.Records("set"); len(sets) != 3 {
		t.Errorf("%d sets, want both twins' and the common one", len(sets))
	}
}

// TestPhone_X6_ArrivedIsNotWrittenAgain: what the server had taken in before the fork is the
// same operation, not a second measurement.
func TestPhone_X6_ArrivedIsNotWrittenAgain(t *testing.T) {
	d := newDesk()
	a, _ := twins(t, d)
	sent := write(t, a, "set", 2, nowMS)
	b := again(t, a) // copied with the operation not yet acknowledged
	exchangeOnce(t, a, d)
	write(t, a, "set", 3, nowMS)
	exchangeOnce(t, a, d)
	if out := exchangeOnce(t, b, d); !out.IsForked {
		t.Fatal("not found out")
	}
	b.Renew(otherID)
	other := &desk{state: exchange.DeviceState{Device: otherID, Epoch: epochOne}}
	resp := other.answer(ask(b))
	head := uint64(len(d.held))
	resp.Changed = []wire.Changed{{Doc: sent.Doc, Head: head}}
	handle(t, b, resp, nowMS)
	resp = other.answer(ask(b))
	resp.Pages = []wire.Page{{Doc: sent.Doc, To: head, Head: head, Ops: d.held}}
	handle(t, b, resp, nowMS)
	doc, _ := b.Doc(sent.Doc)
	if b.Unsent() != 0 || len(doc.Records("set")) != 3 {
		t.Errorf("unsent %d, %d sets", b.Unsent(), len(doc.Records("set")))
	}
}

// TestPhone_X7_ServerSetBack: what the server lacks is pushed again, under the same numbers.
func TestPhone_X7_ServerSetBack(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	write(t, p, "set", 1, nowMS)
	exchangeOnce(t, p, d)
	backup := *d
	write(t, p, "set", 2, nowMS)
	write(t, p, "set", 3, nowMS)
	exchangeOnce(t, p, d)
	backup.state.Epoch = 2
	for range 3 {
		exchangeOnce(t, p, &backup)
	}
	if len(backup.held) != 3 || p.Unsent() != 0 {
		t.Fatalf("server holds %d, unsent %d", len(backup.held), p.Unsent())
	}
	for i, op := range backup.held {
		if !op.Equal(d.held[i]) {
			t.Errorf("operation %d was changed: %+v", i, op)
		}
	}
}

func TestPhone_X7_CursorsStartAnew(t *testing.T) {
	p, d := fresh(), newDesk()
	other := record.ID{Device: otherID, Seq: 1}
	resp := d.answer(ask(p))
	resp.Changed, resp.Seen = []wire.Changed{{Doc: other, Head: 5}}, 9
	handle(t, p, resp, nowMS)
	// The answer's own news and pages were worked out from cursors that mean nothing now.
	d.state.Epoch = 2
	handle(t, p, d.answer(ask(p)), nowMS) // unclear
	resp = d.answer(ask(p))
	resp.Changed, resp.Seen = []wire.Changed{{Doc: other, Head: 5}}, 9
	resp.Pages = []wire.Page{{Doc: other, From: 0, To: 5, Head: 5}}
	if out := handle(t, p, resp, nowMS); !out.IsMore {
		t.Error("a new epoch and nothing more to ask")
	}
	if q := ask(p); q.Seen != 0 || len(q.Pulls) != 0 || q.Epoch != 2 {
		t.Errorf("asks %+v", q)
	}
}

// TestPhone_X8_RefusedStaysRefused: a server set back does not take in later what was refused.
func TestPhone_X8_RefusedStaysRefused(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	backup := *d
	d.except = "locked"
	write(t, p, "set", 1, nowMS)
	write(t, p, "locked", 2, nowMS)
	exchangeOnce(t, p, d)
	backup.state.Epoch = 2 // and it forbids nothing
	for range 3 {
		exchangeOnce(t, p, &backup)
	}
	refused := p.Refused()
	if len(backup.held) != 1 || len(refused) != 1 || refused[0].Code != wire.CodeForbidden {
		t.Errorf("server holds %d, refused %+v", len(backup.held), refused)
	}
}

// TestPhone_X8_TakenInAfterAll: a server that was set back takes in what an earlier one had
// refused, because the push came before the withdrawal. The phone then shows it like everybody.
func TestPhone_X8_TakenInAfterAll(t *testing.T) {
	p, d := fresh(), newDesk()
	d.except = "locked"
	exchangeOnce(t, p, d)
	op := write(t, p, "locked", 1, nowMS)
	write(t, p, "set", 2, nowMS)
	exchangeOnce(t, p, d)
	back := exchange.DeviceState{Device: phoneID}
	handle(t, p, exchange.Answer(ask(p), exchange.Judgement{State: back}, 2, nowMS), nowMS)
	q := ask(p)
	q.Withdrawn = nil
	j := exchange.Judge(q, back, allow{}, nowMS)
	out := handle(t, p, exchange.Answer(q, j, 2, nowMS), nowMS)
	held, _ := p.Doc(op.Doc)
	if _, found := held.Operation(op.ID()); !found || len(out.Applied) != 1 {
		t.Errorf("not shown: %+v", out)
	}
	if len(p.Refused()) != 0 || p.Unsent() != 0 {
		t.Errorf("refused %v, unsent %d", p.Refused(), p.Unsent())
	}
}

// TestPhone_X9_GoneIsWiped: the document goes, own work in it that had not arrived is listed.
func TestPhone_X9_GoneIsWiped(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	op := write(t, p, "set", 1, nowMS)
	resp := exchange.Answer(ask(p), exchange.Judgement{}, epochOne, nowMS)
	resp.Gone = []wire.Gone{{Doc: op.Doc, Reason: "not shared any more"}}
	out := handle(t, p, resp, nowMS)
	if len(out.Gone) != 1 || len(out.Refused) != 1 || out.Refused[0].Code != wire.CodeGone {
		t.Fatalf("outcome %+v", out)
	}
	if _, isHeld := p.Doc(op.Doc); isHeld {
		t.Error("still held")
	}
	p = again(t, p)
	exchangeOnce(t, p, d)
	exchangeOnce(t, p, d)
	if p.Unsent() != 0 || len(d.held) != 0 || d.state.Have != 1 || len(p.Refused()) != 1 {
		t.Errorf("unsent %d, server holds %d of %d, refused %v",
			p.Unsent(), len(d.held), d.state.Have, p.Refused())
	}
}

// TestPhone_X10_NothingIsPulledTwice: a digest that agrees saves the pull; one that does not
// leads to one.
func TestPhone_X10_NothingIsPulledTwice(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	op := write(t, p, "set", 1, nowMS)
	held, _ := p.Doc(op.Doc)
	resp := d.answer(ask(p))
	resp.Changed = []wire.Changed{{Doc: op.Doc, Head: 1, Digest: held.Digest()}}
	if out := handle(t, p, resp, nowMS); out.IsMore || len(ask(p).Pulls) != 0 {
		t.Error("own operation would be pulled")
	}
	resp = d.answer(ask(p))
	resp.Changed = []wire.Changed{{Doc: op.Doc, Head: 2, Digest: [32]byte{1}}}
	handle(t, p, resp, nowMS)
	if q := ask(p); len(q.Pulls) != 1 || q.Pulls[0] != (wire.Pull{Doc: op.Doc, After: 1}) {
		t.Errorf("pulls %v", q.Pulls)
	}
}

func TestPhone_X10_FirstThingsFirst(t *testing.T) {
	p, d := fresh(), newDesk()
	resp := d.answer(ask(p))
	for seq := range uint64(5) {
		doc := record.ID{Device: otherID, Seq: seq + 1}
		resp.Changed = append(resp.Changed, wire.Changed{Doc: doc, Head: 1})
	}
	handle(t, p, resp, nowMS)
	wanted := record.ID{Device: otherID, Seq: 4}
	q := p.Request(nowMS, exchange.Limits{Pulls: 2, First: []record.ID{wanted}})
	if len(q.Pulls) != 2 || q.Pulls[0].Doc != wanted || q.Pulls[1].Doc.Seq != 1 {
		t.Errorf("pulls %v", q.Pulls)
	}
}

// TestPhone_X10_PageIsTakenIn also from a phone whose clock is far ahead: nothing is dropped
// for its stamp, and the own clock does not follow it.
func TestPhone_X10_PageIsTakenIn(t *testing.T) {
	p, d := fresh(), newDesk()
	doc := record.ID{Device: otherID, Seq: 1}
	op := record.Operation{
		Doc: doc, Record: doc, Kind: "client", Field: "name", Value: record.Text("A"),
		Stamp: clock.Stamp{WallMS: nowMS + dayMS, Device: otherID}, Seq: 1,
	}
	resp := d.answer(ask(p))
	resp.Changed = []wire.Changed{{Doc: doc, Head: 1}}
	handle(t, p, resp, nowMS)
	resp = d.answer(ask(p))
	resp.Pages = []wire.Page{{Doc: doc, To: 1, Head: 1, Ops: []record.Operation{op}}}
	out := handle(t, p, resp, nowMS)
	if len(out.Applied) != 1 || out.IsMore {
		t.Fatalf("outcome %+v", out)
	}
	if last := p.Author().Clock().Last(); last.WallMS > nowMS {
		t.Errorf("the clock followed to %v", last)
	}
}

// TestPhone_X9_ErasedLeavesNothing: of an erased document nothing stays listed, the numbers
// are used up, and the phone goes on under the same identity.
func TestPhone_X9_ErasedLeavesNothing(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	d.except = "locked"
	refused := write(t, p, "locked", 1, nowMS)
	exchangeOnce(t, p, d)
	write(t, p, "set", 2, nowMS)
	if len(p.Refused()) != 1 || p.Unsent() != 1 {
		t.Fatalf("refused %v, unsent %d", p.Refused(), p.Unsent())
	}
	resp := exchange.Answer(ask(p), exchange.Judgement{State: d.state}, epochOne, nowMS)
	resp.Gone = []wire.Gone{{Doc: refused.Doc, Reason: wire.CodeErased}}
	if out := handle(t, p, resp, nowMS); len(out.Gone) != 1 {
		t.Fatalf("outcome %+v", out)
	}
	p = again(t, p)
	exchangeOnce(t, p, d)
	out := exchangeOnce(t, p, d)
	p = again(t, p)
	if out.IsForked || p.Unsent() != 0 || len(p.Refused()) != 0 || len(p.Docs()) != 0 {
		t.Errorf("forked %v, unsent %d, refused %v", out.IsForked, p.Unsent(), p.Refused())
	}
	if d.state.Have != 2 || len(d.held) != 0 {
		t.Errorf("the server judged %d and holds %d", d.state.Have, len(d.held))
	}
}

// TestPhone_X9_BegunAgainIsFetchedWhole: a phone under a new identity is wiped of a document in
// the same answer after which it writes its orphans there again. What it had written there under
// that identity is with the server alone, so once the document is shared again all of it is
// fetched, its own operations included.
func TestPhone_X9_BegunAgainIsFetchedWhole(t *testing.T) {
	d, p := newDesk(), fresh()
	exchangeOnce(t, p, d)
	write(t, p, "client", 1, nowMS)
	exchangeOnce(t, p, d)
	orphan := write(t, p, "set", 2, nowMS)
	p.Renew(otherID)
	other := &desk{state: exchange.DeviceState{Device: otherID, Epoch: epochOne}}
	far := record.ID{Device: 77, Seq: 1}
	resp := other.answer(ask(p))
	resp.Changed = []wire.Changed{{Doc: far, Head: 1}} // it is behind: the orphans wait
	handle(t, p, resp, nowMS)
	write(t, p, "set", 3, nowMS)
	resp = other.answer(ask(p))
	if len(other.held) != 1 {
		t.Fatalf("the server holds %d under the new identity, want 1", len(other.held))
	}
	resp.Gone = []wire.Gone{{Doc: orphan.Doc, Reason: "not shared any more"}, {Doc: far}}
	handle(t, p, resp, nowMS)
	if doc, isHeld := p.Doc(orphan.Doc); !isHeld || len(doc.Records("set")) != 1 {
		t.Fatal("the orphan was not written again")
	}
	resp = other.answer(ask(p))
	resp.Changed = []wire.Changed{{Doc: orphan.Doc, Head: 3}}
	handle(t, p, resp, nowMS)
	for _, pull := range ask(p).Pulls {
		if pull.Doc == orphan.Doc && pull.IsWhole {
			return
		}
	}
	t.Errorf("pulls %+v, want all of %v", ask(p).Pulls, orphan.Doc)
}
