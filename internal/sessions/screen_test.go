package sessions_test

import (
	"slices"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// TestQuestions asks for what "Red flags presented in current low back pain
// guidelines: a review", Eur Spine J 2016;25(9):2788-2802,
// doi:10.1007/s00586-016-4684-0, gathers: signs of a pressed cauda equina, of a
// fracture, of a tumour and of an infection. The first group and a fresh injury
// ask for help today (common practice, no source).
func TestQuestions(t *testing.T) {
	want := map[string]bool{
		"saddle": true, "bladder": true, "leg_weak": true, "both_legs": true, "trauma": true,
		"bones": false, "fever": false, "cancer": false, "weight_loss": false, "night_pain": false,
	}
	for _, q := range sessions.Questions() {
		now, found := want[q.ID]
		if !found || now != q.Now {
			t.Errorf("%s: today %t, want %t (asked for: %t)", q.ID, q.Now, now, found)
		}
		delete(want, q.ID)
	}
	if len(want) > 0 {
		t.Errorf("not asked, or asked twice: %v", want)
	}
}

func answers(yes ...string) map[string]bool {
	all := map[string]bool{}
	for _, q := range sessions.Questions() {
		all[q.ID] = slices.Contains(yes, q.ID)
	}
	return all
}

func TestScreeningIsOpenUntilCleared(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	p.create(d, "screen", sessions.ScreenValues(answers(), 10))
	if open, found := sessions.OpenFlag(d); found {
		t.Fatalf("no yes, and open: %+v", open)
	}
	p.wallMS++
	id := p.create(d, "screen", sessions.ScreenValues(answers("night_pain", "bladder"), 20))
	p.wallMS++
	p.create(d, "screen", sessions.ScreenValues(answers(), 30))

	open, found := sessions.OpenFlag(d)
	if !found || open.ID != id || !slices.Equal(open.Yes, []string{"bladder", "night_pain"}) {
		t.Fatalf("a later no closed it, or the order is lost: %+v, %t", open, found)
	}
	p.create(d, "clear", sessions.ClearValues(
		sessions.Screening{ID: record.ID{Device: 1, Seq: 1}, Yes: open.Yes}, "another", "x", 35))
	if _, found := sessions.OpenFlag(d); !found {
		t.Error("the note on another screening closed it")
	}
	note := p.create(d, "clear", sessions.ClearValues(
		open, "seen, may go on", "Example Clinician", 40))
	if open, found := sessions.OpenFlag(d); found {
		t.Errorf("cleared, and open: %+v", open)
	}
	got := sessions.Screenings(d)
	if len(got) != 3 || !got[1].Cleared || got[1].ClearNote != "seen, may go on" ||
		got[1].ClearedBy != "Example Clinician" || got[1].AnsweredMS != 20 || got[2].Cleared {
		t.Errorf("screenings %+v", got)
	}
	p.void(d, note, "clear")
	if _, found := sessions.OpenFlag(d); !found {
		t.Error("a note taken back still clears")
	}
	p.void(d, id, "screen")
	if _, found := sessions.OpenFlag(d); found {
		t.Error("a voided screening is open")
	}
}

// TestEitherYesCounts lets two phones correct one answer without having seen
// each other, in both orders of their clocks: whichever wins the merge, a yes of
// either is a yes.
func TestEitherYesCounts(t *testing.T) {
	for _, tt := range []struct {
		name           string
		hereMS, overMS int64
		here, over     bool
		wantYes        bool
	}{
		{"the yes wins", 2_000_002, 2_000_001, true, false, true},
		{"the yes loses", 2_000_001, 2_000_002, true, false, true},
		{"both yes", 2_000_001, 2_000_002, true, true, true},
		{"both no", 2_000_001, 2_000_002, false, false, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			here, over := newPen(t, 7), newPen(t, 9)
			d := here.doc()
			id := here.create(d, "screen", sessions.ScreenValues(answers("fever"), 10))
			other := clone(t, d)
			here.wallMS, over.wallMS = tt.hereMS, tt.overMS
			here.write(d, id, "screen", "q_fever", record.Bool(tt.here))
			over.write(other, id, "screen", "q_fever", record.Bool(tt.over))
			merge(t, d, other)
			if n := len(d.Conflicts()); (n == 1) != (tt.here != tt.over) {
				t.Fatalf("%d conflicts", n)
			}
			if _, found := sessions.OpenFlag(d); found != tt.wantYes {
				t.Errorf("open = %t, want %t", found, tt.wantYes)
			}
		})
	}
}

// TestYesTakenBack is no conflict: the later no had seen the yes.
func TestYesTakenBack(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	id := p.create(d, "screen", sessions.ScreenValues(answers("fever"), 10))
	p.write(d, id, "screen", "q_fever", record.Bool(false))
	if open, found := sessions.OpenFlag(d); found {
		t.Errorf("taken back, and open: %+v", open)
	}
}

func TestScreenValuesLeavesOutWhatWasNotSaid(t *testing.T) {
	got := sessions.ScreenValues(map[string]bool{"fever": false, "not_a_question": true}, 10)
	if len(got) != 2 || got[0].Field != "answeredMS" || got[1].Field != "q_fever" {
		t.Errorf("fields %+v", got)
	}
}

// TestClearNamesWhatItSaw: a yes that another phone wrote without knowing of the note
// opens the screening again; a note on that one too closes it.
func TestClearNamesWhatItSaw(t *testing.T) {
	one, two := newPen(t, 1), newPen(t, 2)
	d := one.doc()
	id := one.create(d, "screen", sessions.ScreenValues(answers("night_pain"), 10))
	other := clone(t, d)
	seen, _ := sessions.OpenFlag(d)
	one.create(d, "clear", sessions.ClearValues(seen, "seen", "Example Clinician", 20))
	two.write(other, id, "screen", "q_bladder", record.Bool(true))
	if _, found := sessions.OpenFlag(d); found {
		t.Fatal("cleared, and open")
	}
	merge(t, d, other)
	open, found := sessions.OpenFlag(d)
	if !found || !slices.Equal(open.Yes, []string{"bladder", "night_pain"}) {
		t.Fatalf("a yes that the note did not name is cleared: %+v, %t", open, found)
	}
	one.create(d, "clear", sessions.ClearValues(open, "seen too", "Example Clinician", 30))
	if open, found := sessions.OpenFlag(d); found {
		t.Errorf("both are cleared, and open: %+v", open)
	}
}
