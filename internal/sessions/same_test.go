package sessions_test

import (
	"testing"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// lead writes a session with holds of 10 s on the right side that begin at the given
// seconds, and returns the sets.
func (p *pen) lead(d *record.Doc, pain int64, startS ...int64) []record.ID {
	values := sessions.Session{StartedMS: startS[0] * 1000}.Values()
	values = append(values, record.FieldValue{Field: "pain", Value: record.Int(pain)})
	session := p.create(d, sessions.KindSession, values)
	var ids []record.ID
	for _, s := range startS {
		ids = append(ids, p.create(d, sessions.KindSet, sessions.Set{
			Session: session.String(), Step: "bent_knee_hold", Down: sides.DownFor(sides.WorksRight),
			Working: sides.WorksRight, HeldMS: 10_000, StartedMS: s * 1000,
		}.Values()))
	}
	return ids
}

func (p *pen) join(d *record.Doc, a, b, keep record.ID) {
	p.create(d, sessions.KindSame, sessions.SameValues(a, b, keep, 1))
}

func counted(d *record.Doc) (n int) {
	for _, s := range sessions.Sessions(d) {
		n += len(s.Sets)
	}
	return n
}

// TestSame_SessionsOnce: a session that another one tells wholly is told with it, and the
// worse pain stands; a void of the set that counted lets the other one count.
func TestSame_SessionsOnce(t *testing.T) {
	coach, client := newPen(t, 1), newPen(t, 2)
	d := coach.doc()
	coach.create(d, sessions.KindClient, sessions.Client{Name: "A"}.Values())
	mine := client.lead(d, 6, 1_000, 1_200, 1_400)
	theirs := coach.lead(d, 2, 1_202)
	if got := sessions.Proposals(d); len(got) != 1 || counted(d) != 4 {
		t.Fatalf("%d proposals and %d sets, want 1 and 4", len(got), counted(d))
	}
	coach.join(d, mine[1], theirs[0], theirs[0])
	all := sessions.Sessions(d)
	if len(all) != 1 || len(all[0].Sets) != 3 || len(all[0].Also) != 1 || all[0].Pain != 6 {
		t.Fatalf("told as %+v, want one session of three sets with a pain of 6", all)
	}
	if all[0].Sets[1].ID != theirs[0] {
		t.Errorf("%v counts, want the one that was chosen", all[0].Sets[1].ID)
	}
	coach.void(d, theirs[0], sessions.KindSet)
	if all = sessions.Sessions(d); counted(d) != 3 || all[0].Sets[1].ID != mine[1] {
		t.Errorf("after the void %d sets count", counted(d))
	}
}

// TestSame_TwoCoaches: two coaches who join and decline without knowing of each other
// leave the pair apart; pairs of a chain joined by different people count once.
func TestSame_TwoCoaches(t *testing.T) {
	one, two, third := newPen(t, 1), newPen(t, 2), newPen(t, 3)
	d := one.doc()
	one.create(d, sessions.KindClient, sessions.Client{Name: "A"}.Values())
	a, b, c := one.lead(d, 0, 1_000)[0], two.lead(d, 0, 1_001)[0], third.lead(d, 0, 1_002)[0]
	other := clone(t, d)
	one.join(d, a, b, a)
	two.join(other, b, c, c)
	merge(t, d, other)
	merge(t, other, d)
	if counted(d) != 1 || counted(other) != 1 {
		t.Fatalf("%d and %d sets count of one effort", counted(d), counted(other))
	}
	two.create(other, sessions.KindSame, sessions.ApartValues(b, a, 1))
	merge(t, d, other)
	if !sessions.Answers(d).IsDisputed(a, b) || counted(d) != 2 || len(sessions.Proposals(d)) == 0 {
		t.Errorf("%d sets count while two people disagree, want 2 and the question", counted(d))
	}
}

// TestSame_TestOnce: two phones that timed one hold give one test, its other hold kept.
func TestSame_TestOnce(t *testing.T) {
	one, two := newPen(t, 1), newPen(t, 2)
	d := one.doc()
	one.create(d, sessions.KindClient, sessions.Client{Name: "A"}.Values())
	take := func(
		p *pen, w sides.Working, startMS, heldMS int64, test record.ID,
	) (record.ID, record.ID) {
		if test.IsZero() {
			test = p.create(d, sessions.KindTest, sessions.Test{
				Step: "straight_leg_hold", StartedMS: startMS, First: w,
			}.Values())
		}
		return test, p.create(d, sessions.KindTrial, sessions.Trial{
			Test: test.String(), Working: w, Down: sides.DownFor(w), StartedMS: startMS,
			HeldMS: heldMS, Stop: sessions.StopPosition,
		}.Values())
	}
	first, left := take(one, sides.WorksLeft, 1_000_000, 40_000, record.ID{})
	take(one, sides.WorksRight, 1_400_000, 50_000, first)
	second, again := take(two, sides.WorksLeft, 1_001_000, 38_000, record.ID{})
	if p := sessions.Proposals(d); len(p) != 1 || len(sessions.Tests(d)) != 2 {
		t.Fatalf("%d proposals, %d tests, want 1 and 2", len(p), len(sessions.Tests(d)))
	}
	one.join(d, left, again, again)
	tests := sessions.Tests(d)
	if len(tests) != 1 || len(tests[0].Trials) != 2 || !tests[0].Is(second.String()) {
		t.Fatalf("told as %+v, want one test of two holds", tests)
	}
	if held, _ := tests[0].Last(sides.WorksLeft); held.HeldMS != 38_000 {
		t.Errorf("the left side counts %d ms, want the chosen 38000", held.HeldMS)
	}
}
