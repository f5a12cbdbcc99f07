package exchange_test

import (
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// pushed returns a request with n sound operations from the device's first on.
func pushed(t *testing.T, n int) wire.Request {
	t.Helper()
	p := fresh()
	exchangeOnce(t, p, newDesk())
	for i := range n {
		write(t, p, "set", int64(i), nowMS)
	}
	return plain(ask(p))
}

// plain is q as version 2 says it, epoch and chain in full.
func plain(q wire.Request) wire.Request {
	q.IsTaught, q.IsBrief, q.Proof = false, false, 0
	return q
}

func codesOf(j exchange.Judgement) map[uint64]string {
	codes := map[uint64]string{}
	for _, r := range j.Refused {
		codes[r.Op.Seq] = r.Code
	}
	return codes
}

// TestJudge_X2_OneVerdictPerOperation spoils one operation in each way; the others are taken.
func TestJudge_X2_OneVerdictPerOperation(t *testing.T) {
	many := make([]clock.Stamp, record.MaxReplaces+1)
	for i := range many {
		many[i] = clock.Stamp{WallMS: int64(i + 1), Device: otherID}
	}
	tests := []struct {
		name  string
		spoil func(*record.Operation)
		want  string
	}{
		{"far future", func(op *record.Operation) {
			op.Stamp.WallMS = nowMS + clock.MaxAheadMS + 1
		}, wire.CodeFuture},
		{"long text", func(op *record.Operation) {
			op.Value = record.Text(string(make([]byte, record.MaxTextBytes+1)))
		}, wire.CodeTooLong},
		{"too many replaced", func(op *record.Operation) { op.Replaces = many }, wire.CodeTooMany},
		{"no name", func(op *record.Operation) { op.Field = "" }, wire.CodeMalformed},
		{"stamped backwards", func(op *record.Operation) { op.Stamp.WallMS = 1 },
			wire.CodeMalformed},
		{"against the rules", func(op *record.Operation) { op.Kind = "locked" },
			wire.CodeForbidden},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			q := pushed(t, 3)
			tt.spoil(&q.Push[1])
			d := newDesk()
			d.except = "locked"
			j := d.judge(q)
			if codes := codesOf(j); len(codes) != 1 || codes[2] != tt.want {
				t.Errorf("refused %v, want 2: %s", codes, tt.want)
			}
			if len(j.Accepted) != 2 || j.State.Have != 3 || j.Problem != "" {
				t.Errorf("accepted %d, have %d, problem %q", len(j.Accepted), j.State.Have, j.Problem)
			}
		})
	}
}

func TestJudge_X2_JustInTheFuture(t *testing.T) {
	q := pushed(t, 1)
	q.Push[0].Stamp.WallMS = nowMS + clock.MaxAheadMS
	if j := newDesk().judge(q); len(j.Accepted) != 1 {
		t.Errorf("refused %v", codesOf(j))
	}
}

// TestJudge_C8_WhatWasAcceptedStaysPossible: a server whose clock was set back by an hour takes
// what follows on what it has, of this device or another, and nothing later than that.
func TestJudge_C8_WhatWasAcceptedStaysPossible(t *testing.T) {
	const backMS = nowMS - 60*60*1000
	for _, tt := range []struct {
		name             string
		lastMS, latestMS int64
		stampMS          int64
		want             string
	}{
		{"nothing accepted yet", 0, 0, nowMS, wire.CodeFuture},
		{"after its own last", nowMS, nowMS, nowMS, ""},
		{"later than that", nowMS, nowMS, nowMS + 1, wire.CodeFuture},
		{"after another device's last", 0, nowMS, nowMS, ""},
		{"later than any", 0, nowMS, nowMS + 1, wire.CodeFuture},
		{"within ten minutes as ever", 0, 0, backMS + clock.MaxAheadMS, ""},
	} {
		q := pushed(t, 1)
		q.Push[0].Stamp.WallMS, q.Push[0].Stamp.Count = tt.stampMS, 7
		dev := newDesk().state
		dev.Last = clock.Stamp{WallMS: tt.lastMS, Device: phoneID}
		dev.LatestMS = tt.latestMS
		j := exchange.Judge(q, dev, allow{}, backMS)
		if got := codesOf(j)[1]; got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

func TestJudge_X3_RepeatChangesNothing(t *testing.T) {
	d := newDesk()
	d.except = "locked"
	q := pushed(t, 4)
	q.Push[2].Kind = "locked"
	d.judge(q)
	state := d.state
	for from := range q.Push {
		repeat := q
		for _, op := range q.Push[:from] {
			repeat.Chain = record.NextChain(repeat.Chain, op)
		}
		repeat.PushFrom, repeat.Push = uint64(from), q.Push[from:]
		j := d.judge(repeat)
		if j.Problem != "" || len(j.Accepted)+len(j.Refused) != 0 ||
			d.state.Have != state.Have || d.state.Chain != state.Chain || len(d.held) != 3 {
			t.Errorf("repeat from %d: %+v", from, j)
		}
	}
	// A repeat that ends early, as a late letter does, changes nothing either.
	short := q
	short.Push = q.Push[:2]
	if j := d.judge(short); j.Problem != "" || d.state.Have != 4 {
		t.Errorf("late repeat: %q, have %d", j.Problem, d.state.Have)
	}
}

func TestJudge_X5_ForkIsRefused(t *testing.T) {
	q := pushed(t, 3)
	twin := pushed(t, 3)
	twin.Push[1].Value = record.Int(999)
	d := newDesk()
	d.judge(q)
	if j := d.judge(twin); j.Problem != wire.CodeForked || len(j.Accepted) != 0 {
		t.Errorf("problem %q, accepted %d", j.Problem, len(j.Accepted))
	}
	if len(d.held) != 3 || d.state.Have != 3 {
		t.Errorf("held %d, have %d after a fork", len(d.held), d.state.Have)
	}
}

func TestJudge_X14_WholePushRefused(t *testing.T) {
	tests := []struct {
		name  string
		spoil func(*wire.Request)
		want  string
	}{
		{"another device's request", func(q *wire.Request) { q.Device = otherID },
			wire.CodeDevice},
		{"another device's operation", func(q *wire.Request) {
			q.Push[1].Stamp.Device = otherID
		}, wire.CodeDevice},
		{"a number left out", func(q *wire.Request) { q.Push[1].Seq = 9 }, wire.CodeDevice},
		{"numbers before it missing", func(q *wire.Request) {
			q.PushFrom, q.Push = 1, q.Push[1:]
		}, wire.CodeGap},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			q := pushed(t, 3)
			tt.spoil(&q)
			d := newDesk()
			j := d.judge(q)
			if j.Problem != tt.want || len(j.Accepted) != 0 || d.state.Have != 0 {
				t.Errorf("problem %q, accepted %d, have %d; want %q",
					j.Problem, len(j.Accepted), d.state.Have, tt.want)
			}
		})
	}
}

func TestJudge_X7_AnotherEpochIsNotJudged(t *testing.T) {
	q := pushed(t, 2)
	d := newDesk()
	d.state.Epoch = 2
	if j := d.judge(q); j.Problem != "" || j.State.Have != 0 || len(j.Accepted) != 0 {
		t.Errorf("judged %+v", j)
	}
}

func TestJudge_X8_WithdrawnIsRefused(t *testing.T) {
	q := pushed(t, 3)
	q.Withdrawn = []uint64{2}
	d := newDesk()
	if j := d.judge(q); codesOf(j)[2] != wire.CodeWithdrawn || len(j.Accepted) != 2 {
		t.Errorf("refused %v, accepted %d", codesOf(j), len(j.Accepted))
	}
}

// TestJudge_C7_NoPhoneMovesTheServersTime: what one phone pushes has no say in what is too far
// ahead for the next.
func TestJudge_C7_NoPhoneMovesTheServersTime(t *testing.T) {
	d := newDesk()
	ahead := pushed(t, 1)
	ahead.Push[0].Stamp.WallMS = nowMS + clock.MaxAheadMS
	d.judge(ahead)
	second := newDesk()
	q := pushed(t, 1)
	q.Push[0].Stamp.WallMS = nowMS + 2*clock.MaxAheadMS
	if j := second.judge(q); codesOf(j)[1] != wire.CodeFuture {
		t.Errorf("refused %v", codesOf(j))
	}
	if got := d.answer(ask(fresh())).WallMS; got != nowMS {
		t.Errorf("the server tells %d, want its own %d", got, nowMS)
	}
}

// TestJudge_X15_ProofOrInFull: a request that tells epoch and chain by a proof is judged when the
// proof is the server's own. Else nothing is judged and nothing told, whatever the difference is,
// and in full it is judged by the rules for it.
func TestJudge_X15_ProofOrInFull(t *testing.T) {
	tests := []struct {
		name    string
		spoil   func(d *desk)
		problem string // in full
		taken   int    // in full
	}{
		{"as it was", func(*desk) {}, "", 2},
		{"another epoch", func(d *desk) { d.state.Epoch++ }, "", 0},
		{"another past", func(d *desk) { d.state.Chain[9] ^= 1 }, wire.CodeForked, 0},
		{"set back", func(d *desk) { d.state.Have, d.state.Chain = 0, [32]byte{} }, wire.CodeGap, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, d := fresh(), newDesk()
			exchangeOnce(t, p, d)
			write(t, p, "set", 1, nowMS)
			exchangeOnce(t, p, d)
			for i := range int64(2) {
				write(t, p, "set", 2+i, nowMS)
			}
			q := ask(p)
			if !q.IsBrief || len(q.Push) != 2 {
				t.Fatalf("asks %+v", q)
			}
			tt.spoil(d)
			before, isSpoilt := d.state, d.state.Epoch != epochOne || tt.problem != ""
			j := d.judge(q)
			if j.IsUnclear != isSpoilt || j.Problem != "" || isSpoilt && d.state.Have != before.Have {
				t.Errorf("unclear %v, problem %q, have %d", j.IsUnclear, j.Problem, d.state.Have)
			}
			if !isSpoilt {
				if len(j.Accepted) != tt.taken {
					t.Errorf("%d were taken in", len(j.Accepted))
				}
				return
			}
			handle(t, p, exchange.Answer(q, j, d.state.Epoch, nowMS), nowMS)
			q = ask(p)
			if j = d.judge(q); q.IsBrief || j.Problem != tt.problem || len(j.Accepted) != tt.taken {
				t.Errorf("in full: brief %v, problem %q, %d taken", q.IsBrief, j.Problem, len(j.Accepted))
			}
		})
	}
}

// TestPhone_X15_LostAnswerAsksInFull: what was sent may have been judged. Without its answer the
// phone tells the chain that the server goes on from, and nothing is taken in twice.
func TestPhone_X15_LostAnswerAsksInFull(t *testing.T) {
	p, d := fresh(), newDesk()
	exchangeOnce(t, p, d)
	write(t, p, "set", 1, nowMS)
	lost := ask(p)
	d.answer(lost)
	write(t, p, "set", 2, nowMS)
	q := ask(p)
	if !lost.IsBrief || q.IsBrief || len(q.Push) != 2 {
		t.Fatalf("brief %v and then %v, pushes %d", lost.IsBrief, q.IsBrief, len(q.Push))
	}
	if handle(t, p, d.answer(q), nowMS); len(d.held) != 2 || p.Unsent() != 0 {
		t.Errorf("the server holds %d, unsent %d", len(d.held), p.Unsent())
	}
	// The lost request arrives after all, and once more.
	if j := d.judge(lost); !j.IsUnclear || len(d.held) != 2 {
		t.Errorf("late: unclear %v, the server holds %d", j.IsUnclear, len(d.held))
	}
}
