package planning_test

import (
	"testing"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

const dayMS = 86_400_000

// book writes a client's record for a test.
type book struct {
	t      *testing.T
	author *record.Author
	doc    *record.Doc
}

func newBook(t *testing.T) *book {
	author := record.NewAuthor(9, 0, [32]byte{}, clock.New(9, clock.Stamp{}))
	return &book{t, author, record.NewDoc(author.NextID())}
}

func (b *book) add(kind string, values []record.FieldValue) record.ID {
	b.t.Helper()
	id, _, err := b.author.Create(b.doc, kind, values, dayMS)
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

// test adds a straight-leg test of both sides on a day.
func (b *book) test(day, leftMS, rightMS int64, stop string) {
	id := b.add(sessions.KindTest, sessions.Test{
		Step: "straight_leg_hold", StartedMS: day * dayMS,
	}.Values())
	for order, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
		held := leftMS
		if w == sides.WorksRight {
			held = rightMS
		}
		b.add(sessions.KindTrial, sessions.Trial{
			Test: id.String(), Order: int64(order), Down: sides.DownFor(w), Working: w,
			HeldMS: held, Stop: stop, StartedMS: day * dayMS,
		}.Values())
	}
}

// A change of one side beyond 1.96·√2·TE on the log scale is beyond noise; with the
// typical error of 17 % (the middle of 12.1 to 24.1 %, PLoS One 2025;20(6):e0324787) that
// is a factor of exp(0.435) = 1.54: 40 s to 45 s is inside it, 40 s to 80 s beyond.
func TestChanged(t *testing.T) {
	tests := []struct {
		name string
		was  int64
		now  int64
		stop string
		want symmetry.Verdict
	}{
		{"inside noise", 40_000, 45_000, sessions.StopPosition, symmetry.WithinNoise},
		{"twice as long", 40_000, 80_000, sessions.StopPosition, symmetry.Longer},
		{"half as long", 80_000, 40_000, sessions.StopPosition, symmetry.Shorter},
		{"both cut short", 80_000, 40_000, sessions.StopArmShoulder, symmetry.CannotTell},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := newBook(t)
			b.test(10, tt.was, 60_000, tt.stop)
			b.test(20, tt.now, 60_000, tt.stop)
			c, found := planning.Changed(sessions.Tests(b.doc), sides.WorksLeft,
				symmetry.DefaultModel())
			if !found || c.Verdict != tt.want {
				t.Errorf("%v, %s, want %s", found, c.Verdict, tt.want)
			}
		})
	}
	b := newBook(t)
	b.test(10, 40_000, 50_000, sessions.StopPosition)
	if _, found := planning.Changed(sessions.Tests(b.doc), sides.WorksLeft,
		symmetry.DefaultModel()); found {
		t.Error("one test shows a change")
	}
}

// TestRetests: only two tests of one variant, a day to three weeks apart with no session
// between, count as one state tested twice; no test counts twice.
func TestRetests(t *testing.T) {
	b := newBook(t)
	b.test(10, 40_000, 50_000, sessions.StopPosition)
	b.test(17, 42_000, 51_000, sessions.StopPosition)
	b.test(24, 44_000, 52_000, sessions.StopArmShoulder)
	b.test(60, 60_000, 70_000, sessions.StopPosition)
	b.add(sessions.KindSession, sessions.Session{StartedMS: 62 * dayMS}.Values())
	b.test(67, 62_000, 71_000, sessions.StopPosition)
	b.test(90, 62_000, 71_000, sessions.StopPosition)
	got := planning.Retests(b.doc)
	if len(got) != 1 || got[0].FirstLeft.Seconds() != 40 || got[0].SecondRight.Seconds() != 51 {
		t.Errorf("retests %v", got)
	}
}

var practice = planning.Practice{Noise: symmetry.DefaultModel()}

// TestDecide: a plan item without a session stays; with an open red flag the answer is
// to refer, whatever else is known.
func TestDecide(t *testing.T) {
	b := newBook(t)
	if planning.Decide(b.doc, practice, dayMS) != nil {
		t.Error("a record without a plan has decisions")
	}
	b.test(10, 60_000, 70_000, sessions.StopPosition)
	plan := b.add(sessions.KindPlan, sessions.Plan{AcceptedMS: 10 * dayMS}.Values())
	item := sessions.Item{
		Plan: plan.String(), Step: "straight_leg_hold", Order: "b", Reps: []int64{5, 4, 3},
		HoldMS: 8_000, RestSetMS: 60_000,
	}
	b.add(sessions.KindItem, item.Values())
	all := planning.Decide(b.doc, practice, 12*dayMS)
	if len(all) != 1 || all[0].Decision.Verdict != progression.Stay {
		t.Fatalf("decided %+v", all)
	}
	question := sessions.Questions()[0].ID
	b.add(sessions.KindScreen, sessions.ScreenValues(map[string]bool{question: true}, 11*dayMS))
	all = planning.Decide(b.doc, practice, 12*dayMS)
	if len(all) != 1 || all[0].Decision.Verdict != progression.Refer ||
		all[0].Decision.Rules[0].Key != "rule.red_flag_open" || all[0].Decision.Next != nil {
		t.Errorf("with a red flag: %+v", all[0].Decision)
	}
}
