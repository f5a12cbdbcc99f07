package exchange_test

import (
	"errors"
	"reflect"
	"testing"

	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

func TestPhone_X1_FirstRequestPushesNothing(t *testing.T) {
	p, d := fresh(), newDesk()
	write(t, p, "set", 1, nowMS)
	if q := ask(p); len(q.Push) != 0 {
		t.Fatalf("pushed %d operations before the server's time was heard", len(q.Push))
	}
	out := exchangeOnce(t, p, d)
	if !out.IsMore || p.Unsent() != 1 {
		t.Errorf("more %v, unsent %d", out.IsMore, p.Unsent())
	}
	if out = exchangeOnce(t, p, d); out.IsMore || p.Unsent() != 0 || len(d.held) != 1 {
		t.Errorf("more %v, unsent %d, server has %d", out.IsMore, p.Unsent(), len(d.held))
	}
}

func TestPhone_X2_RefusedStaysOnThePhone(t *testing.T) {
	p, d := fresh(), newDesk()
	d.except = "locked"
	exchangeOnce(t, p, d)
	write(t, p, "set", 1, nowMS)
	bad := write(t, p, "locked", 2, nowMS)
	write(t, p, "set", 3, nowMS)
	out := exchangeOnce(t, p, d)
	if len(out.Refused) != 1 || len(out.Removed) != 1 || !out.Removed[0].Equal(bad) {
		t.Fatalf("outcome %+v", out)
	}
	for _, phone := range []*exchange.Phone{p, again(t, p)} {
		refused := phone.Refused()
		if len(refused) != 1 || !refused[0].Op.Equal(bad) ||
			refused[0].Code != wire.CodeForbidden || phone.Unsent() != 0 {
			t.Errorf("refused %+v, unsent %d", refused, phone.Unsent())
		}
		doc, _ := phone.Doc(bad.Doc)
		if doc.Len() != 2 {
			t.Errorf("document holds %d operations, want the two accepted", doc.Len())
		}
	}
}

// TestPhone_X4_LostAnswer: the verdict of a lost answer comes with the next.
func TestPhone_X4_LostAnswer(t *testing.T) {
	p, d := fresh(), newDesk()
	d.except = "locked"
	exchangeOnce(t, p, d)
	write(t, p, "locked", 1, nowMS)
	write(t, p, "set", 2, nowMS)
	d.answer(ask(p)) // lost
	d.answer(ask(p)) // lost again
	out := exchangeOnce(t, p, d)
	if len(out.Refused) != 1 || p.Unsent() != 0 || len(d.held) != 1 {
		t.Errorf("refused %v, unsent %d, server has %d", out.Refused, p.Unsent(), len(d.held))
	}
}

func TestPhone_X11_StaleAnswer(t *testing.T) {
	p, d := fresh(), newDesk()
	first := d.answer(ask(p))
	second := d.answer(ask(p))
	if _, err := p.Handle(first, nowMS); !errors.Is(err, exchange.ErrStale) {
		t.Errorf("answer to an earlier request: %v", err)
	}
	handle(t, p, second, nowMS)
	if _, err := p.Handle(second, nowMS); !errors.Is(err, exchange.ErrStale) {
		t.Errorf("the same answer twice: %v", err)
	}
}

func TestPhone_X11_ForeignPage(t *testing.T) {
	p, d := fresh(), newDesk()
	resp := d.answer(ask(p))
	resp.Pages = []wire.Page{{
		Doc: record.ID{Device: otherID, Seq: 1}, To: 1, Head: 1,
		Ops: []record.Operation{{Doc: record.ID{Device: otherID, Seq: 2}}},
	}}
	if _, err := p.Handle(resp, nowMS); !errors.Is(err, exchange.ErrPage) {
		t.Errorf("page of another document: %v", err)
	}
}

// TestPhone_X11_NoAnswerPanics throws answers with wild numbers at a phone that has something
// to lose; it keeps it.
func TestPhone_X11_NoAnswerPanics(t *testing.T) {
	const wild = uint64(1)<<63 - 1
	for _, wallMS := range []int64{-1 << 63, -1, 0, 1, nowMS, 1<<63 - 1} {
		for _, have := range []uint64{0, 1, 2, 3, wild} {
			p, d := fresh(), newDesk()
			exchangeOnce(t, p, d)
			op := write(t, p, "set", 1, nowMS)
			resp := wire.Response{
				Number: ask(p).Number, Epoch: 9, WallMS: wallMS, Have: have, Seen: wild,
				Verdicts: []wire.Verdict{{Seq: wild, Code: "?"}},
				Pages:    []wire.Page{{Doc: op.Doc, From: 0, To: wild, Head: wild}},
				Changed:  []wire.Changed{{Doc: op.Doc, Head: wild}},
			}
			out := handle(t, p, resp, nowMS)
			held, _ := p.Doc(op.Doc)
			if held.Len() != 1 || p.Unsent() != 1 {
				t.Errorf("have %d wall %d: %d held, outcome %+v", have, wallMS, held.Len(), out)
			}
		}
	}
}

func TestPhone_X13_StateRoundTrip(t *testing.T) {
	p, d := fresh(), newDesk()
	d.except = "locked"
	exchangeOnce(t, p, d)
	write(t, p, "locked", 1, nowMS)
	write(t, p, "set", 2, nowMS)
	resp := d.answer(ask(p))
	resp.Changed = []wire.Changed{{Doc: record.ID{Device: otherID, Seq: 1}, Head: 7}}
	resp.Seen = 3
	handle(t, p, resp, nowMS)
	write(t, p, "set", 3, nowMS)
	state := p.State()
	b := state.Append(nil)
	back, err := exchange.ParseState(b)
	if err != nil || !reflect.DeepEqual(state, back) {
		t.Fatalf("%v: %+v came back as %+v", err, state, back)
	}
	for end := range b {
		if _, err := exchange.ParseState(b[:end]); !errors.Is(err, exchange.ErrState) {
			t.Fatalf("cut to %d bytes: %v", end, err)
		}
	}
	q, same := ask(p), ask(again(t, p))
	if same.PushFrom != q.PushFrom || same.Chain != q.Chain || same.Seen != q.Seen ||
		!reflect.DeepEqual(same.Pulls, q.Pulls[:1]) {
		t.Errorf("started anew it asks %+v, not %+v", same, q)
	}
}

// TestPhone_X13_WrittenAfterTheState: what was stored after the state is found in documents.
func TestPhone_X13_WrittenAfterTheState(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	state := p.State()
	op := write(t, p, "set", 1, nowMS)
	held, _ := p.Doc(op.Doc)
	started := exchange.NewPhone(state, []*record.Doc{held.Without(nil)})
	a, b := started.Author(), p.Author()
	if started.Unsent() != 1 || a.Seq() != b.Seq() || a.Chain() != b.Chain() {
		t.Errorf("unsent %d, author at %d", started.Unsent(), a.Seq())
	}
	if next := a.Clock().Next(0); next.Compare(op.Stamp) <= 0 {
		t.Errorf("the next stamp %v is not after %v", next, op.Stamp)
	}
}

func TestPhone_C5_UnsentIsStampedAnew(t *testing.T) {
	const fastMS = 3 * 86_400_000
	p, d := fresh(), newDesk()
	first := write(t, p, "set", 1, nowMS-5000+fastMS)
	second, err := p.Author().Write(
		p.Open(first.Doc), first.Record, "set", "holdMS", record.Int(2), nowMS-4000+fastMS)
	if err != nil {
		t.Fatal(err)
	}
	out := handle(t, p, d.answer(askAt(p, nowMS+fastMS)), nowMS+fastMS)
	if len(out.Removed) != 2 || len(out.Applied) != 2 {
		t.Fatalf("outcome %+v", out)
	}
	one, two := out.Applied[0], out.Applied[1]
	if one.Stamp.WallMS != nowMS-5000 || two.Stamp.WallMS != nowMS-4000 {
		t.Errorf("stamped %v and %v", one.Stamp, two.Stamp)
	}
	if one.ReadMS != nowMS-5000+fastMS || two.ReadMS != nowMS-4000+fastMS {
		t.Errorf("readings %d and %d are not the original ones", one.ReadMS, two.ReadMS)
	}
	if one.ID() != first.ID() || two.ID() != second.ID() || two.Replaces[0] != one.Stamp {
		t.Errorf("order or identity lost: %+v, %+v", one, two)
	}
	handle(t, p, d.answer(askAt(p, nowMS+fastMS)), nowMS+fastMS)
	if len(d.held) != 2 || len(d.refused) != 0 {
		t.Errorf("server holds %d, refused %v", len(d.held), d.refused)
	}
	third := write(t, p, "set", 3, nowMS+1000+fastMS)
	if third.Stamp.WallMS != nowMS+1000 {
		t.Errorf("written later with %v", third.Stamp)
	}
}

func TestPhone_C5_SmallErrorIsLeft(t *testing.T) {
	p, d := fresh(), newDesk()
	write(t, p, "set", 1, nowMS)
	out := handle(t, p, d.answer(ask(p)), nowMS+exchange.SkewMS-1)
	if len(out.Applied) != 0 || p.WallMS(nowMS) != nowMS {
		t.Errorf("outcome %+v, offset %d", out, p.WallMS(0))
	}
}

// TestPhone_C6_SentIsNeverStampedAnew: the answer may be lost, the server may have it.
func TestPhone_C6_SentIsNeverStampedAnew(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	sent := write(t, p, "set", 1, nowMS)
	ask(p) // may have arrived
	out := handle(t, p, exchange.Answer(ask(p), exchange.Judgement{}, epochOne, nowMS), nowMS+dayMS)
	if held, _ := p.Doc(sent.Doc); len(out.Applied) != 0 || !held.Operations()[0].Equal(sent) {
		t.Errorf("outcome %+v", out)
	}
}

func TestPhone_C6_FutureIsWrittenAgain(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	wrong := write(t, p, "set", 1, nowMS+dayMS) // the clock jumps after the server was heard
	out := exchangeOnce(t, p, d)
	if len(out.Refused) != 1 || out.Refused[0].Code != wire.CodeFuture || len(out.Applied) != 1 {
		t.Fatalf("outcome %+v", out)
	}
	anew := out.Applied[0]
	if anew.Record != wrong.Record || anew.Value != wrong.Value || anew.Seq != 2 ||
		anew.ReadMS != wrong.Stamp.WallMS || anew.Stamp.WallMS > nowMS {
		t.Errorf("written again as %+v", anew)
	}
	if exchangeOnce(t, p, d); len(d.held) != 1 || p.Unsent() != 0 {
		t.Errorf("server holds %d, unsent %d", len(d.held), p.Unsent())
	}
}

// TestPhone_X16_UnreadVersion: a server of an earlier version cannot read the request, so not
// its number either. The phone asks again in version 2; if that is not read either, it must learn
// why, and lose nothing by it.
func TestPhone_X16_UnreadVersion(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	write(t, p, "set", 1, nowMS)
	unread := wire.Response{Problem: wire.CodeSchema, Epoch: 9, Have: 7}
	if q := ask(p); q.Append(nil)[0] != wire.Version {
		t.Fatalf("asks as version %d first", q.Append(nil)[0])
	}
	if out, err := p.Handle(unread, nowMS); err != nil || out.Problem != "" || !out.IsMore {
		t.Errorf("%+v, %v; want to ask again", out, err)
	}
	if q := ask(p); q.Append(nil)[0] != 2 || q.IsBrief {
		t.Fatalf("asks again as version %d", q.Append(nil)[0])
	}
	out, err := p.Handle(unread, nowMS)
	if err != nil || out.Problem != wire.CodeSchema || p.Unsent() != 1 {
		t.Errorf("%+v, %v, %d unsent", out, err, p.Unsent())
	}
	if out := exchangeOnce(t, p, d); out.IsForked || p.Unsent() != 0 {
		t.Errorf("after the update: %+v, %d unsent", out, p.Unsent())
	}
	ask(p)
	if _, err := p.Handle(wire.Response{Problem: wire.CodeBusy}, nowMS); !errors.Is(
		err, exchange.ErrStale) {
		t.Errorf("another answer without a number: %v, want ErrStale", err)
	}
}
